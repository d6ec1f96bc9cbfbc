// One key starts and stops the clock of the job on the page, wherever the hand is.

document.addEventListener("keydown", (event) => {
  if (event.key !== "F8" || event.repeat || event.ctrlKey || event.altKey || event.metaKey) return;
  const button = document.querySelector("[data-clock-key]");
  if (!button) return;
  event.preventDefault();
  button.click();
});
