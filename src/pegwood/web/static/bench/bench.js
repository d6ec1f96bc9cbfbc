// Small manners of every page. All of it works without.

import { signIn, token } from "./visit.js";

// A form is sent once: a second tap on a slow line sends nothing more.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (event.defaultPrevented || form.method.toLowerCase() !== "post") return;
  if (form.dataset.sent) { event.preventDefault(); return; }
  form.dataset.sent = "yes";
  if (form.elements.csrfmiddlewaretoken) form.elements.csrfmiddlewaretoken.value = token();
  setTimeout(() => delete form.dataset.sent, 4000);
});
// Coming back with the browser's own button, the form may be sent again.
addEventListener("pageshow", () => document.querySelectorAll("form[data-sent]").forEach((form) => delete form.dataset.sent));

// After a refusal the focus goes to the first field that is amiss, else to the refusal itself.
function toWhatIsAmiss(root) {
  const field = root.querySelector("[aria-invalid=true]");
  const said = root.querySelector(".refused");
  // Of a group of <details>, one that was open before keeps a new one shut.
  (field ?? said)?.closest("details")?.setAttribute("open", "");
  if (said && !field) said.focus();
  else if (field) field.focus();
}
toWhatIsAmiss(document);
document.addEventListener("htmx:afterSettle", (event) => toWhatIsAmiss(event.target));

// A page goes on under the visit of now, not under the one it was opened in.
document.addEventListener("htmx:configRequest", (event) => {
  const { headers, formData } = event.detail;
  headers["X-CSRFToken"] = token();
  if (formData.has("csrfmiddlewaretoken")) formData.set("csrfmiddlewaretoken", token());
});

// The line dropped or the server said no: say so at the place, and keep what was typed.
function say(place, ...words) {
  place.querySelector(":scope > .refused.line")?.remove();
  const note = document.createElement("p");
  note.className = "refused line";
  note.setAttribute("role", "alert");
  note.append(...words);
  place.prepend(note);
}
const placeOf = (event) => event.target.closest("form, section, main") ?? document.body;
document.addEventListener("htmx:sendError", (event) => say(placeOf(event), "The bench cannot be reached. What you typed is still here; try again in a moment."));
document.addEventListener("htmx:responseError", (event) => {
  const { status } = event.detail.xhr;
  if (status === 401) say(placeOf(event), "You are signed out. What you typed is still here: ", signIn(), ", then send it again.");
  else say(placeOf(event), `That did not work (${status}). What you typed is still here.`);
});
