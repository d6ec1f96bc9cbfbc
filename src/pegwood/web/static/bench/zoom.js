// Zooms a chart along its time: by buttons for a thumb and the keyboard, by pinching, drawing aside and the wheel.

const CLOSER = 0.5; // of what is seen
const ASIDE = 0.4;

export function makeZoomable(view, tools) {
  const range = view.model.x_range;
  const whole = { start: range.start, end: range.end };
  const steps = {
    closer: () => scale(range, CLOSER),
    wider: () => scale(range, 1 / CLOSER),
    earlier: () => move(range, -ASIDE),
    later: () => move(range, ASIDE),
    whole: () => range.setv({ ...whole }),
  };
  for (const button of tools.querySelectorAll("[data-zoom]")) button.onclick = steps[button.dataset.zoom];
  tools.hidden = false;
  wakeWheel(view);
}

function scale(range, by) {
  const middle = (range.start + range.end) / 2;
  const half = (by * (range.end - range.start)) / 2;
  range.setv({ start: middle - half, end: middle + half });
}

function move(range, by) {
  const way = by * (range.end - range.start);
  range.setv({ start: range.start + way, end: range.end + way });
}

// The wheel zooms once the chart was touched, and until the pointer leaves it: else it would catch whoever only
// scrolls past. A finger that draws up or down scrolls the page; one that draws aside moves the curves.
function wakeWheel(view) {
  const wheel = view.model.toolbar.tools.find((tool) => tool.type === "WheelZoomTool");
  const events = view.canvas_view.events_el;
  const letScroll = () => {
    events.style.touchAction = "pan-y";
    events.tabIndex = -1; // the buttons are the keyboard's
  };
  view.el.addEventListener("pointerdown", () => (wheel.active = true), { capture: true });
  view.el.addEventListener("pointerleave", ({ pointerType }) => {
    if (pointerType === "mouse") wheel.active = false;
  });
  letScroll();
}
