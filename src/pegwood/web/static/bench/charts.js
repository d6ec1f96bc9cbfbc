// Draws the charts of a page as they come into view, in the colours of the screen: light or dark.
// The table beside each chart holds the same figures, so a chart that fails costs nothing but a line of text.

import { makeZoomable } from "./zoom.js";

const dark = window.matchMedia("(prefers-color-scheme: dark)");
const drawn = new Map(); // element -> what must be cleared before it is drawn again
let library = null;

function fetchLibrary(address) {
  library ??= new Promise((resolve, reject) => {
    const script = document.createElement("script");
    script.src = address;
    script.onload = () => resolve(window.Bokeh);
    script.onerror = () => {
      library = null; // so that the next chart tries again
      reject(new Error("the chart library did not come"));
    };
    document.head.append(script);
  });
  return library;
}

async function draw(place) {
  const address = new URL(place.dataset.chart, window.location);
  address.searchParams.set("scheme", dark.matches ? "dark" : "light");
  try {
    const [bokeh, answer] = await Promise.all([
      fetchLibrary(place.dataset.library),
      fetch(address, { headers: { Accept: "application/json" } }),
    ]);
    if (!answer.ok) throw new Error(`the server answered ${answer.status}`);
    const item = await answer.json();
    drawn.get(place)?.clear();
    place.replaceChildren();
    const views = await bokeh.embed.embed_item(item, place);
    drawn.set(place, views);
    const tools = place.parentElement.querySelector("[data-zooms]");
    if (tools) makeZoomable(views.roots[0], tools);
    else for (const part of place.children) part.inert = true; // a picture: no stop for the keyboard
    place.classList.add("drawn");
  } catch (trouble) {
    console.warn("chart", place.dataset.chart, trouble);
    place.textContent = "The chart could not be drawn. The table holds the same figures.";
  }
}

const inView = new IntersectionObserver(
  (entries) => {
    for (const { isIntersecting, target } of entries) {
      if (!isIntersecting) continue;
      inView.unobserve(target);
      draw(target);
    }
  },
  { rootMargin: "300px" },
);

function lookFor(root) {
  for (const place of root.querySelectorAll("[data-chart]:not(.awaited)")) {
    place.classList.add("awaited");
    inView.observe(place);
  }
}

function forgetGone() {
  for (const [place, views] of drawn) {
    if (place.isConnected) continue;
    views.clear();
    drawn.delete(place);
  }
}

dark.addEventListener("change", () => [...drawn.keys()].forEach(draw));
document.addEventListener("htmx:afterSettle", () => {
  forgetGone();
  lookFor(document);
});
lookFor(document);
