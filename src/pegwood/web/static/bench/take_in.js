// The form at the counter: kept on the bench while it is typed, in this browser when the line is down; its tag fills itself.

import { fill, filled, shelf, tell, typed } from "./keep.js";
import { waitingFor } from "./photos.js";
import { signIn, token } from "./visit.js";

const PAUSE_MS = 700;
const AGAIN_MS = 5000;
const the = () => document.getElementById("take-in-form");
const keyOf = (form) => `kept take-in ${form.dataset.ticket}`;
let timer = 0;
let sentOff = false;
let unkept = false; // the last try to keep it on the bench came to nothing

function say(...words) {
  const place = document.getElementById("kept");
  const text = words.map((word) => word.textContent ?? word).join("");
  if (place && place.textContent !== text) place.replaceChildren(...words); // a link under a thumb stays
}

function changed() {
  const form = the();
  if (!form || sentOff) return;
  shelf.put(keyOf(form), filled(form));
  if (!unkept) say("…");
  clearTimeout(timer);
  timer = setTimeout(keep, PAUSE_MS);
}

async function keep() {
  const form = the();
  if (!form || sentOff) return;
  const body = new URLSearchParams();
  for (const [name, values] of Object.entries(typed(form))) for (const value of values) body.append(name, value);
  const before = JSON.stringify(typed(form));
  let answer = null;
  try {
    answer = await fetch(form.dataset.draft, { method: "POST", body, headers: { "X-CSRFToken": token(), "HX-Request": "true" } });
  } catch { /* no line */ }
  unkept = !answer?.ok || answer.redirected;
  if (!unkept) {
    if (JSON.stringify(typed(form)) === before) shelf.clear(keyOf(form));
    say(`kept ${new Date().toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" })}`);
    return;
  }
  if (answer?.status === 401) say("signed out: kept on this device. ", signIn());
  else say(answer ? `not taken (${answer.status}): kept on this device` : "no line: kept on this device");
  clearTimeout(timer);
  timer = setTimeout(keep, AGAIN_MS);
}

function echo() {
  const form = the();
  const what = document.querySelector("[data-echo=what]");
  if (!form || !what) return;
  const value = (name) => form.elements[name]?.value?.trim() ?? "";
  const tapped = (name) => form.querySelector(`[name=${name}]:checked:not([value=new])`)?.dataset.says ?? "";
  const named = `${value("maker")} ${value("model")}`.trim();
  what.textContent = tapped("camera") || named || tapped("family") || "A camera comes in";
  const whose = tapped("owner") || value("name");
  const told = value("story").split(/\s+/).slice(0, 9).join(" ");
  const who = [whose && `for ${whose}`, told].filter(Boolean).join(" · ");
  document.querySelector("[data-echo=who]").textContent = who || "whose, and what it tells";
}

async function begin() {
  const form = the();
  if (!form || form.dataset.keeping) return;
  form.dataset.keeping = "yes";
  const kept = shelf.take(keyOf(form));
  if (kept && !("answered" in form.dataset)) {
    const without = fill(form, kept.values);
    tell(form, "Brought back what was typed here while the line was down.");
    await keep();
    // Whoever was chosen is offered by the bench alone.
    if (without.length && !shelf.take(keyOf(form))) location.reload();
  }
  echo();
}

for (const what of ["input", "change"]) {
  document.addEventListener(what, (event) => {
    if (event.target.form !== the() || event.target.type === "file") return;
    changed();
    echo();
  });
}
document.addEventListener("htmx:load", begin);
addEventListener("online", keep);

// Sending it off waits for photographs that are still on their way.
let held = null;
document.addEventListener("htmx:confirm", (event) => {
  const form = the();
  if (event.target !== form) return;
  const later = event.detail.triggeringEvent?.submitter?.value === "later";
  const onTheirWay = waitingFor(form.querySelector("[data-send-to]").dataset.sendTo);
  if (later || !onTheirWay) return;
  event.preventDefault();
  held = event.detail;
  document.getElementById("take-it-in").textContent = `Waiting for ${onTheirWay} photograph${onTheirWay > 1 ? "s" : ""} …`;
});
document.addEventListener("photos:waiting", () => {
  const form = the();
  if (!held || !form || waitingFor(form.querySelector("[data-send-to]").dataset.sendTo)) return;
  const go = held;
  held = null;
  document.getElementById("take-it-in").textContent = "Take it in";
  go.issueRequest(true);
});
document.addEventListener("htmx:beforeRequest", (event) => {
  if (event.target !== the()) return;
  clearTimeout(timer); // the form itself carries everything now
  sentOff = true;
  the().inert = true; // what were typed now would be gone with the answer
});
document.addEventListener("htmx:afterRequest", (event) => {
  const form = event.detail.elt;
  if (form.id !== "take-in-form") return;
  form.inert = false;
  const { xhr } = event.detail;
  const gone = xhr.status < 300 && xhr.getResponseHeader("HX-Redirect");
  if (gone) shelf.clear(keyOf(form));
  else sentOff = false;
});
begin();
