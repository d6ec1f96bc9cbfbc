// A foot pedal, or a key pressed with a knuckle: does what the biggest button of the step does. Pedals send a key;
// most can be set to one of these. In a field a key writes, and nothing else.

const DO = new Set(["PageDown", "F9"]);
const UNDO = new Set(["Delete", "Backspace"]);
const writes = (field) => field.closest?.("input:not([type=checkbox], [type=radio]), textarea, select, [contenteditable]");

document.addEventListener("keydown", (event) => {
  if (event.repeat || event.ctrlKey || event.altKey || event.metaKey) return;
  if (DO.has(event.key)) {
    const button = document.querySelector("[data-pedal]:not([disabled])");
    if (!button) return;
    event.preventDefault(); // even in a field: a pedal is not under the hand that writes
    button.click();
  } else if (UNDO.has(event.key) && !writes(event.target)) {
    const form = document.querySelector("[data-undo]");
    if (!form) return;
    event.preventDefault();
    form.requestSubmit();
  }
});

// After a press the new step is what is read: the page goes back to its top.
document.addEventListener("htmx:afterSwap", (event) => {
  if (event.target.id === "strip") document.getElementById("strip")?.scrollIntoView({ block: "start" });
});
