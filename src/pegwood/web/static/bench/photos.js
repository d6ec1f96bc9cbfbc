// Each photograph is sent as soon as it was taken. Until the bench has it, it lies in this browser's own store and
// is sent again: when the line is back, after a reload, from whatever page is open. One that the bench will not have
// stays in that store too, until somebody saves it or throws it away.

import { signIn, token } from "./visit.js";

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
  const here = [...document.querySelectorAll("[data-send-to]")].some((field) => field.dataset.sendTo === photo.url && (field.dataset.finding ?? "") === photo.finding);
  const tray = document.getElementById(here ? photo.tray : "waiting-tray");
  if (there || !tray) return there;
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

function say(photo, ...words) {
  tile(photo)?.querySelector("figcaption").replaceChildren(...words);
}

// It stays where it was taken, with the reason and the two things that can be done.
function showRefused(photo) {
  const figure = tile(photo);
  if (!figure) return;
  figure.classList.add("refused-print");
  const why = document.createElement("span");
  why.setAttribute("role", "alert");
  why.textContent = photo.refused;
  const save = document.createElement("a");
  save.textContent = "Save it";
  save.href = URL.createObjectURL(photo.file);
  save.download = photo.file.name;
  const away = document.createElement("button");
  away.type = "button";
  away.className = "plain";
  away.textContent = "Throw it away";
  away.addEventListener("click", async () => {
    URL.revokeObjectURL(save.href);
    figure.remove();
    await drop(photo.id);
    count();
  });
  say(photo, why, save, away);
}

const show = (photo) => (photo.refused ? showRefused(photo) : say(photo, "waits its turn"));

// At the foot of every page: that something waits. Pressed, it shows those that have no place on this page.
function count() {
  const place = document.getElementById("photos-waiting");
  if (!place) return;
  const button = document.createElement("button");
  button.type = "button";
  button.className = "plain";
  button.textContent = memory.size === 1 ? "1 photograph waits in this browser" : `${memory.size} photographs wait in this browser`;
  button.addEventListener("click", () => {
    if (!document.getElementById("waiting-tray")) {
      const tray = document.createElement("section");
      tray.id = "waiting-tray";
      tray.className = "photo-tray sheet";
      tray.setAttribute("aria-label", "Photographs that wait in this browser");
      document.getElementById("main").append(tray);
    }
    for (const photo of memory.values()) show(photo);
    document.querySelector(".print.waiting")?.scrollIntoView({ block: "nearest" });
  });
  place.replaceChildren(...(memory.size ? [button] : []));
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
        if (photo.refused || await sent(photo)) continue;
        more = false; // the line is down: later
        break;
      }
    } while (more);
  } finally {
    sending = false;
    document.dispatchEvent(new CustomEvent("photos:waiting"));
    count();
    if ([...memory.values()].some((photo) => !photo.refused)) timer = setTimeout(send, AGAIN_MS);
  }
}

// Whether to go on with the next one.
async function sent(photo) {
  say(photo, "on its way …");
  const body = new FormData();
  body.append("photos", photo.file, photo.file.name);
  if (photo.finding) body.append("finding", photo.finding);
  let answer;
  try {
    answer = await fetch(photo.url, { method: "POST", body, headers: { "X-CSRFToken": token(), "HX-Request": "true" } });
  } catch {
    say(photo, "waits for the line");
    return false;
  }
  if (answer.ok && !answer.redirected) {
    const shown = answer.status === 204 ? "" : await answer.text();
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
  if (answer.status === 404 && photo.finding) {
    photo.finding = ""; // struck out in the meantime: it is of the camera still
    await put(photo);
    more = true;
    return true;
  }
  if ([400, 404, 413, 422].includes(answer.status)) {
    photo.refused = answer.status === 422 ? await answer.text() : `The bench did not take ${photo.file.name} (${answer.status}).`;
    await put(photo);
    showRefused(photo);
    return true;
  }
  if (answer.status === 401) say(photo, "signed out; kept here. ", signIn());
  else say(photo, "kept here; sent again soon");
  return false;
}

export const waitingFor = (url) => [...memory.values()].filter((photo) => photo.url === url && !photo.refused).length;

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
  for (const photo of photos) show(photo);
  count();
  if (photos.length) send();
});
