// Each photograph is sent as soon as it was taken. Until the bench has it, it lies in this browser's own store and
// is sent again: when the line is back, after a reload, from whatever page is open.

const AGAIN_MS = 5000;
const memory = new Map(); // where the browser lends no store

const opened = new Promise((ready) => {
  const request = globalThis.indexedDB?.open("pegwood", 1);
  if (!request) return ready(null);
  request.onupgradeneeded = () => request.result.createObjectStore("photos", { keyPath: "id" });
  request.onsuccess = () => ready(request.result);
  request.onerror = () => ready(null);
});

async function inStore(mode, act) {
  const db = await opened;
  if (!db) return null;
  return new Promise((done, failed) => {
    const transaction = db.transaction("photos", mode);
    const request = act(transaction.objectStore("photos"));
    transaction.oncomplete = () => done(request.result);
    transaction.onerror = transaction.onabort = () => failed(transaction.error);
  });
}

async function put(photo) {
  memory.set(photo.id, photo);
  try { await inStore("readwrite", (photos) => photos.put(photo)); } catch { /* no room: it stays in memory */ }
}

async function drop(id) {
  memory.delete(id);
  try { await inStore("readwrite", (photos) => photos.delete(id)); } catch { /* it was never there */ }
}

async function all() {
  const stored = (await inStore("readonly", (photos) => photos.getAll()).catch(() => null)) ?? [];
  for (const photo of stored) if (!memory.has(photo.id)) memory.set(photo.id, photo);
  return [...memory.values()].sort((one, other) => one.at - other.at);
}

function tile(photo) {
  const there = document.getElementById(`waiting-${photo.id}`);
  const tray = document.getElementById(photo.tray);
  const here = [...document.querySelectorAll("[data-send-to]")].some((field) => field.dataset.sendTo === photo.url && (field.dataset.finding ?? "") === photo.finding);
  if (there || !tray || !here) return there;
  const figure = document.createElement("figure");
  figure.className = "print waiting";
  figure.id = `waiting-${photo.id}`;
  const image = document.createElement("img");
  image.alt = photo.file.name;
  image.src = URL.createObjectURL(photo.file);
  image.onload = image.onerror = () => URL.revokeObjectURL(image.src);
  const words = document.createElement("figcaption");
  figure.append(image, words);
  tray.append(figure);
  return figure;
}

function say(photo, words) {
  const figure = tile(photo);
  if (figure) figure.querySelector("figcaption").textContent = words;
}

function amiss(photo, words) {
  const figure = tile(photo);
  const tray = document.getElementById(photo.tray);
  const note = document.createElement("p");
  note.className = "refused";
  note.setAttribute("role", "alert");
  note.textContent = words;
  (tray ?? document.getElementById("main")).before(note);
  figure?.remove();
}

let sending = false;
let more = false; // taken while others were on their way
let timer = 0;

async function send() {
  more = sending;
  if (sending) return;
  sending = true;
  clearTimeout(timer);
  try {
    do {
      more = false;
      for (const photo of await all()) {
        if (await sent(photo)) continue;
        more = false; // the line is down: later
        break;
      }
    } while (more);
  } finally {
    sending = false;
    document.dispatchEvent(new CustomEvent("photos:waiting", { detail: memory.size }));
    if (memory.size) timer = setTimeout(send, AGAIN_MS);
  }
}

// Whether to go on with the next one.
async function sent(photo) {
  say(photo, "on its way …");
  const body = new FormData();
  body.append("photos", photo.file, photo.file.name);
  if (photo.finding) body.append("finding", photo.finding);
  const token = document.querySelector("[name=csrfmiddlewaretoken]")?.value ?? "";
  let answer;
  try {
    answer = await fetch(photo.url, { method: "POST", body, headers: { "X-CSRFToken": token, "HX-Request": "true" } });
  } catch {
    say(photo, "waits for the line");
    return false;
  }
  if (answer.ok) {
    const shown = answer.status === 204 || answer.redirected ? "" : await answer.text();
    await drop(photo.id);
    const figure = tile(photo);
    if (figure && shown) {
      const fresh = document.createRange().createContextualFragment(shown).firstElementChild;
      // The same photograph twice is one.
      if (!document.getElementById(fresh.id)) {
        figure.after(fresh);
        htmx.process(fresh);
      }
    }
    figure?.remove();
    return true;
  }
  if ([400, 404, 413, 422].includes(answer.status)) {
    const why = answer.status === 422 ? await answer.text() : `The bench refused ${photo.file.name} (${answer.status}).`;
    amiss(photo, why);
    await drop(photo.id);
    return true;
  }
  say(photo, "kept here; sent again soon");
  return false;
}

export const waitingFor = (url) => [...memory.values()].filter((photo) => photo.url === url).length;

document.addEventListener("change", async (event) => {
  const field = event.target;
  if (!field.matches?.("input[type=file][data-send-to]")) return;
  const files = [...field.files];
  const { sendTo: url, tray, finding = "" } = field.dataset;
  field.value = ""; // it is sent by itself and does not go along with the form
  let at = Date.now();
  for (const file of files) {
    const photo = { id: `${at}-${Math.random().toString(36).slice(2)}`, at: at++, url, tray, finding, file };
    await put(photo);
    say(photo, "waits its turn");
  }
  send();
});
addEventListener("online", send);
all().then((photos) => {
  for (const photo of photos) say(photo, "waits its turn");
  if (photos.length) send();
});
