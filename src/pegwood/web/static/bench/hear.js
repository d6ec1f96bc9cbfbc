// One key for each thing heard, where one is in focus: keep, mend, drop, next. In a field a key writes, and nothing
// else. What is settled gives the focus on to the next that is open.

const KEYS = { k: "keep", m: "mend", d: "drop" };
const writes = (field) => field.closest?.("input:not([type=checkbox], [type=radio]), textarea, select, [contenteditable]");
const cardOf = (element) => element?.closest?.("[data-proposal]");
const open = () => [...document.querySelectorAll("[data-proposal].is-open")];

// The first open one behind a card in the order of the page, or else the first there is.
function following(card) {
  const rest = open().filter((one) => one !== card);
  return rest.find((one) => !card || card.compareDocumentPosition(one) & Node.DOCUMENT_POSITION_FOLLOWING) ?? rest[0];
}

function goTo(card) {
  if (!card) return;
  card.focus({ preventScroll: true });
  card.scrollIntoView({ block: "center" });
}

document.addEventListener("keydown", (event) => {
  if (event.repeat || event.ctrlKey || event.altKey || event.metaKey || writes(event.target)) return;
  const heard = event.target.closest?.("#heard");
  if (!heard) return;
  const key = event.key.toLowerCase();
  const card = cardOf(event.target);
  let pressed = null;
  if (key === "u") pressed = heard.querySelector("[data-undo]");
  else if (key === "n" && card) { event.preventDefault(); goTo(following(card)); return; }
  else if (card && KEYS[key]) pressed = card.querySelector(`[data-do=${KEYS[key]}]`);
  if (!pressed) return;
  event.preventDefault(); // or the letter is written into the field that opens
  pressed.click();
});

document.addEventListener("click", (event) => {
  const link = event.target.closest?.("[data-next]");
  const card = link && document.getElementById(link.hash.slice(1));
  if (!card) return;
  event.preventDefault();
  goTo(card);
});

document.addEventListener("htmx:afterSettle", (event) => {
  const card = event.target.id?.startsWith("p-") ? document.getElementById(event.target.id) : null;
  if (event.target.id !== "heard" && !card) return;
  if (card?.classList.contains("is-open")) {
    const field = card.querySelector(".mend [aria-invalid=true], .mend input[type=text]:not([name=called])");
    if (!card.querySelector(".refused")) (field ?? card).focus();
    return;
  }
  const next = following(card);
  if (next) goTo(next);
  else document.querySelector("[data-next], #heard-top .do a")?.focus(); // the next stands in another part
});

// Words that were marked stand in the field for what was missed, once that is opened.
let marked = "";
document.addEventListener("selectionchange", () => {
  const chosen = getSelection();
  const words = String(chosen).replace(/\s+/g, " ").trim();
  if (words && chosen.anchorNode?.parentElement?.closest(".told-words")) marked = words;
});
document.addEventListener("toggle", (event) => {
  const field = event.target.id === "missed" && event.target.open && event.target.querySelector("[name=missed]");
  if (field && !field.value) field.value = marked;
}, true);

// Keys work from the start: the next one has the focus, unless the address names a place of its own.
const first = document.querySelector(location.hash.startsWith("#p-") ? location.hash : ".heard-one.is-next");
first?.focus({ preventScroll: !location.hash && first.getBoundingClientRect().bottom < innerHeight });
