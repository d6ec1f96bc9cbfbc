// Sends a form with a large file and shows how far it has come. What was chosen stays in the form until the
// server has it: after a dropped line it is sent again, by itself, until it is through.

import { signIn, token } from "./visit.js";

const AGAIN_MS = 5000;
const NOBODY_THERE = [502, 503, 504]; // what a proxy says of a bench that is down

const NAMED = 12; // of more, how many

// What was chosen, as it will be sent: by number, since positions are told in the photographs' order.
function chosen(files) {
  const kilobytes = files.reduce((sum, file) => sum + file.size, 0) / 1024;
  const size = kilobytes < 100 ? `${Math.ceil(kilobytes)} KB` : `${(kilobytes / 1024).toFixed(1)} MB`;
  if (files.length < 2) return files.length ? `${files[0].name}, ${size}` : "";
  const names = files.slice(0, NAMED).map((file, n) => `${n + 1}: ${file.name}`);
  if (files.length > NAMED) names.push(`and ${files.length - NAMED} more`);
  return `${files.length} files, ${size}. ${names.join(", ")}`;
}

class Upload {
  constructor(form) {
    this.form = form;
    this.part = (name) => form.querySelector(`[data-part=${name}]`);
    this.inputs = [...form.querySelectorAll("input[type=file]")];
    this.button = form.querySelector("[type=submit]");
    form.addEventListener("submit", (event) => this.submit(event));
    for (const input of this.inputs) input.addEventListener("change", () => this.name());
    window.addEventListener("online", () => this.dropped && this.send());
    window.addEventListener("beforeunload", (event) => form.dataset.unsent && event.preventDefault());
    this.catchDrops();
  }

  name() {
    const files = this.inputs.flatMap((input) => [...input.files]);
    delete this.form.dataset.unsent;
    this.dropped = false;
    clearTimeout(this.timer);
    this.refuse("");
    this.say(chosen(files));
    const most = Number(this.inputs[0].dataset.most);
    if (most && files.some((file) => file.size > most)) this.refuse(`The file is larger than ${Math.round(most / 1024 ** 2)} MB. Send a shorter one.`);
  }

  catchDrops() {
    const place = this.form.querySelector("[data-drop]");
    const over = (event) => {
      event.preventDefault();
      place.classList.toggle("over", event.type === "dragover");
    };
    place.addEventListener("dragover", over);
    place.addEventListener("dragleave", over);
    place.addEventListener("drop", (event) => {
      over(event);
      if (!event.dataTransfer.files.length) return;
      this.take(event.dataTransfer.files);
      this.name();
    });
  }

  take(files) { // a series all at once; else one for each place, in their order
    if (this.inputs.length === 1) {
      this.inputs[0].files = files;
      return;
    }
    this.inputs.forEach((input, n) => {
      if (!files[n]) return;
      const one = new DataTransfer();
      one.items.add(files[n]);
      input.files = one.files;
    });
  }

  submit(event) {
    event.preventDefault();
    if (!this.busy) this.send();
  }

  send() {
    this.dropped = false;
    clearTimeout(this.timer);
    this.form.elements.csrfmiddlewaretoken.value = token();
    this.busy = this.button.disabled = true;
    this.refuse("");
    const bar = this.part("bar");
    bar.hidden = false;
    const request = new XMLHttpRequest();
    request.open("POST", this.form.action);
    request.setRequestHeader("Accept", "application/json");
    request.responseType = "json";
    request.upload.addEventListener("progress", (event) => {
      if (!event.lengthComputable) return;
      bar.value = event.loaded / event.total;
      this.say(bar.value < 1 ? `Sending: ${Math.round(100 * bar.value)} %` : "Sent. It is being put away …");
    });
    request.addEventListener("load", () => this.answered(request));
    request.addEventListener("error", () => this.lost());
    request.addEventListener("timeout", () => this.lost());
    request.send(new FormData(this.form));
  }

  answered(request) {
    if (NOBODY_THERE.includes(request.status)) return this.lost();
    this.ready();
    const answer = request.response ?? {};
    if (request.status === 201) {
      delete this.form.dataset.unsent;
      window.location.assign(answer.go);
      return;
    }
    if (request.status === 401) this.refuse("You are signed out. What you chose is still here: ", signIn(), ", then send it again.");
    else this.refuse(answer.refused ?? `The server answered ${request.status}. What you chose is still here: send it again.`);
    const wrong = answer.field && this.form.querySelector(`[name=${answer.field}]`);
    wrong?.closest("details")?.setAttribute("open", "");
    (wrong || this.part("refused")).focus();
  }

  lost() {
    this.ready();
    this.dropped = true;
    this.refuse("The line dropped. What you chose is still here; it is sent again until it is through.");
    this.timer = setTimeout(() => this.dropped && this.send(), AGAIN_MS);
  }

  ready() {
    this.busy = this.button.disabled = false;
    this.part("bar").hidden = true;
    this.say("");
  }

  say(words) {
    this.part("sent").textContent = words;
  }

  refuse(...words) {
    const place = this.part("refused");
    place.replaceChildren(...words);
    place.hidden = !place.textContent;
  }
}

for (const form of document.querySelectorAll("form[data-upload]")) new Upload(form);
