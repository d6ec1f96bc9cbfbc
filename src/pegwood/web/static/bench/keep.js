// What somebody types stays in this browser until the bench has it: a reload or a dropped line loses nothing.
// Forms say so with data-keep. Kept for a week at the most.

const WEEK = 7 * 24 * 3600 * 1000;
const keyOf = (form) => `kept ${location.pathname} ${form.id}`;

export function typed(form) {
  const values = {};
  for (const [name, value] of new FormData(form)) {
    if (typeof value === "string" && name !== "csrfmiddlewaretoken") (values[name] ??= []).push(value);
  }
  return values;
}

// Puts those values back into a form; returns the names that have no field in it.
export function fill(form, values) {
  const without = [];
  for (const [name, kept] of Object.entries(values)) {
    const fields = [...form.elements].filter((field) => field.name === name && !(field instanceof HTMLButtonElement));
    if (!fields.length) without.push(name);
    let place = 0;
    for (const field of fields) {
      if (field.type === "radio" || field.type === "checkbox") field.checked = kept.includes(field.value);
      else if (field.type !== "file") field.value = kept[place++] ?? "";
    }
    // One of few, and the one that was chosen is not offered here.
    if (fields.length && fields[0].type === "radio" && !fields.some((field) => field.checked)) without.push(name);
  }
  return without;
}

// What stands in a form, with an empty list for each box of which none is ticked.
export function filled(form) {
  const values = typed(form);
  for (const box of form.querySelectorAll("input[type=checkbox], input[type=radio]")) values[box.name] ??= [];
  return values;
}

export const shelf = {
  put(key, values, served) {
    try { localStorage.setItem(key, JSON.stringify({ at: Date.now(), values, served })); } catch { /* full, or switched off */ }
  },
  take(key) {
    try { return JSON.parse(localStorage.getItem(key)); } catch { return null; }
  },
  clear(key) {
    try { localStorage.removeItem(key); } catch { /* switched off */ }
  },
  sweep() {
    try {
      for (const key of Object.keys(localStorage)) {
        if (key.startsWith("kept ") && !(this.take(key)?.at > Date.now() - WEEK)) localStorage.removeItem(key);
      }
    } catch { /* switched off */ }
  },
};

export function tell(form, ...words) {
  const note = document.createElement("p");
  note.className = "said";
  note.setAttribute("role", "status");
  note.append(...words);
  form.prepend(note);
  return note;
}

// What the bench had in each form before anybody typed.
const served = new WeakMap();
const same = (one, other) => JSON.stringify(one ?? []) === JSON.stringify(other ?? []);
const LINE = /^line-\d+-/;

function restore(form) {
  if (form.dataset.keeping) return;
  form.dataset.keeping = "yes";
  const kept = shelf.take(keyOf(form));
  if ("answered" in form.dataset) {
    served.set(form, kept?.served ?? filled(form)); // what stands in it was typed, and refused
    return;
  }
  const now = filled(form);
  served.set(form, now);
  if (!kept) return;
  const changed = Object.keys(kept.values).filter((name) => name !== "line-TOTAL_FORMS" && !same(kept.values[name], kept.served?.[name]));
  // Where the bench has something else by now, that is newer than what was typed over the old.
  const names = changed.filter((name) => same(kept.served?.[name], now[name]) && !same(kept.values[name], now[name]));
  const newer = changed.some((name) => !same(kept.served?.[name], now[name]) && !same(kept.values[name], now[name]));
  if (!names.length) return shelf.clear(keyOf(form));
  // Lines that were added and are not on a fresh page: room is made for them first.
  while (names.some((name) => LINE.test(name) && !form.elements[name]) && moreLines(form));
  fill(form, Object.fromEntries(names.map((name) => [name, kept.values[name]])));
  const away = document.createElement("button");
  away.type = "button";
  away.className = "plain";
  away.textContent = "Throw it away";
  const but = newer ? " Where the bench has something newer, the newer stands." : "";
  form.closest("details")?.setAttribute("open", "");
  const note = tell(form, `Brought back what was typed here before.${but} `, away);
  away.addEventListener("click", () => {
    fill(form, now);
    shelf.clear(keyOf(form));
    note.remove();
    form.querySelector("input:not([type=hidden]), textarea, select")?.focus();
  });
  form.dispatchEvent(new Event("input", { bubbles: true }));
}

// A few more empty lines below the last; whether there was room.
function moreLines(form) {
  const total = form.elements["line-TOTAL_FORMS"];
  const most = Number(form.elements["line-MAX_NUM_FORMS"]?.value ?? 0);
  const last = [...form.querySelectorAll(".line:not(.heads)")].pop();
  if (!total || !last || Number(total.value) >= most) return false;
  for (let more = 0; more < 3 && Number(total.value) < most; more++) {
    const line = last.cloneNode(true);
    const number = Number(total.value);
    line.classList.remove("wrong");
    line.querySelectorAll(".amiss").forEach((note) => note.remove());
    for (const field of line.querySelectorAll("[name]")) {
      field.name = field.name.replace(/^line-\d+-/, `line-${number}-`);
      field.id = `id_${field.name}`;
      field.removeAttribute("aria-invalid");
      field.removeAttribute("aria-describedby");
      if (field.tagName === "INPUT") field.value = field.defaultValue = "";
      const label = field.parentElement.querySelector("label");
      label.htmlFor = field.id;
      label.textContent = label.textContent.replace(/\d+/, number + 1);
    }
    last.parentElement.append(line);
    total.value = number + 1;
  }
  return true;
}
document.addEventListener("click", (event) => {
  const button = event.target.closest?.("button[name=do][value=more]");
  if (!button || !moreLines(button.form)) return;
  event.preventDefault();
  [...button.form.querySelectorAll(".line .what input")].find((field) => !field.value)?.focus();
});

const kept = (event) => event.target.closest?.("form[data-keep]");
for (const what of ["input", "change"]) {
  document.addEventListener(what, (event) => {
    const form = kept(event);
    if (form?.id) shelf.put(keyOf(form), filled(form), served.get(form));
  });
}
// The bench has it: before the answer is shown, or the fresh form would be filled with what was just sent.
document.addEventListener("htmx:beforeOnLoad", (event) => {
  const { elt: form, xhr } = event.detail;
  if (xhr.status < 300 && form.matches?.("form[data-keep]")) shelf.clear(keyOf(form));
});
// While it is sent it stands still: what were typed now would be gone with the answer.
document.addEventListener("htmx:beforeRequest", (event) => {
  const form = event.target;
  if (!form.matches?.("form[data-keep]")) return;
  form.hadFocus = document.activeElement;
  form.inert = true;
});
document.addEventListener("htmx:afterRequest", (event) => {
  const form = event.detail.elt;
  if (!form.inert) return;
  form.inert = false;
  if (form.isConnected) form.hadFocus?.focus();
});
// A part tapped leaves only its condition to be typed.
document.addEventListener("change", (event) => {
  const line = event.target.dataset?.to && document.getElementById(event.target.dataset.to);
  line?.focus();
});

const restoreAll = (root) => {
  if (root.matches?.("form[data-keep]")) restore(root);
  root.querySelectorAll("form[data-keep]").forEach(restore);
};
document.addEventListener("htmx:load", (event) => restoreAll(event.target));
shelf.sweep();
restoreAll(document);
