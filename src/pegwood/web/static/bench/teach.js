// Teaching the bench a voice: sentences stand there one by one, are read while the key is held, and are learned from.

export class Teaching {
  constructor(part, post) {
    this.part = part;
    this.post = post;
    this.sentences = [...part("sentences").children].map((one) => one.textContent);
    this.at = -1; // of the sentence that is to be read; below nought where nothing is
    this.part("teach-begin").addEventListener("click", () => (this.isOn ? this.stop("Stopped. Nothing was learned.") : this.show(0)));
    this.part("teach-back").addEventListener("click", () => this.show(this.at - 1));
    this.part("forget").addEventListener("click", () => this.forget());
  }

  get isOn() {
    return this.at >= 0;
  }

  opened(isOpen) {
    this.part("teach-begin").disabled = !isOpen;
    if (!isOpen && this.isOn) this.stop("The ear was closed. Nothing was learned.");
  }

  show(at) {
    this.at = at;
    this.part("to-read").textContent = this.sentences[at];
    this.part("teach-says").textContent = `${at + 1} of ${this.sentences.length}: hold the key and read this.`;
    this.part("teach-begin").textContent = "Stop reading";
    this.part("teach-back").disabled = at === 0;
  }

  stop(why) {
    this.at = -1;
    this.part("to-read").textContent = "";
    this.part("teach-begin").textContent = "Read to it";
    this.part("teach-back").disabled = true;
    this.part("teach-says").textContent = why;
  }

  async take(bytes) {
    const at = this.at;
    const answer = await this.post(`read/${at}/`, bytes);
    if (this.at !== at) return; // stopped meanwhile
    if (answer.refused) {
      this.part("teach-says").textContent = answer.refused;
    } else if (at + 1 < this.sentences.length) {
      this.show(at + 1);
    } else {
      this.stop("Learning …");
      this.tell(await this.post("learned/", ""));
    }
  }

  async forget() {
    this.tell(await this.post("forget/", ""));
  }

  tell(answer) {
    this.part("teach-says").textContent = answer.refused ?? answer.says;
    this.part("forget").disabled = !answer.refused && answer.says.includes("forgotten");
  }
}
