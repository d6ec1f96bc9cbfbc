// One figure after another with one hand: Enter goes on to the next figure, and past the last row makes another.

const figures = (form) => [...form.querySelectorAll(".gauge-rows .line:not(.heads) input")];

document.addEventListener("keydown", (event) => {
  const field = event.target;
  const form = field.form;
  if (event.key !== "Enter" || !form?.matches("[data-gauge]") || field.tagName !== "INPUT") return;
  event.preventDefault();
  const all = figures(form);
  const at = all.indexOf(field);
  if (at < 0) return all[0]?.focus(); // from what stands above the readings
  if (at + 1 < all.length) return all[at + 1].focus();
  form.querySelector("button[name=do][value=more]")?.click(); // which adds rows at once
  figures(form)[at + 1]?.focus();
});

// The way the light goes is chosen once: the next row begins with it.
document.addEventListener("change", (event) => {
  const chosen = event.target;
  if (chosen.tagName !== "SELECT" || !chosen.form?.matches("[data-gauge]")) return;
  const line = chosen.closest(".line");
  for (let next = line?.nextElementSibling; next; next = next.nextElementSibling) {
    const same = next.querySelector("select");
    if (!same || [...next.querySelectorAll("input")].some((input) => input.value)) return;
    same.value = chosen.value;
  }
});
