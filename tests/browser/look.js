// Asked of a page by the tests: what is too small, too wide, unseen. Each function gives back plain data.

const isSeen = (e) =>
  e.checkVisibility({ visibilityProperty: true }) &&
  e.getClientRects().length > 0 &&
  !e.closest(".sr, .skip, [hidden], canvas, [data-chart]");

// A radio, a checkbox or a file field inside its label is as large as that label; a link that covers its card with
// its ::after is as large as the card.
function touched(e) {
  if (e.matches("input[type=radio], input[type=checkbox], input[type=file]")) return e.closest("label") ?? e;
  const cover = getComputedStyle(e, "::after");
  const covers = cover.content !== "none" && cover.position === "absolute" && cover.inset === "0px";
  return (covers && e.closest(".tag, .owner-slip")) || e;
}

// A link within a run of text is as large as its line: WCAG 2.5.8 excepts it.
function isInProse(e) {
  if (!e.matches("a") || getComputedStyle(e).display !== "inline") return false;
  const others = [...e.parentElement.childNodes].filter((node) => node !== e);
  return others.map((node) => node.textContent).join("").trim().length > 1;
}

function smallTargets(smallest) {
  const small = [];
  const acts = "a[href], button, summary, input:not([type=hidden]), select, textarea";
  for (const e of document.querySelectorAll(acts)) {
    if (!isSeen(e) || e.tabIndex < 0 || isInProse(e)) continue;
    const box = touched(e).getBoundingClientRect();
    if (box.height >= smallest - 0.5 && box.width >= smallest - 0.5) continue;
    small.push(`${e.outerHTML.slice(0, 110)} ${Math.round(box.width)} x ${Math.round(box.height)}`);
  }
  return small;
}

function finePrint(smallest) {
  const fine = new Set();
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = walk.nextNode(); node; node = walk.nextNode()) {
    const e = node.parentElement;
    if (!node.textContent.trim() || !e.checkVisibility()) continue;
    if (e.closest(".sr, script, style, noscript, option, [data-chart]")) continue;
    const px = parseFloat(getComputedStyle(e).fontSize);
    if (px < smallest) fine.add(`${px} px: ${node.textContent.trim().slice(0, 40)}`);
  }
  return [...fine];
}

function tooWide() {
  const over = document.documentElement.scrollWidth - window.innerWidth;
  if (over <= 0) return [];
  const wide = [...document.querySelectorAll("body *")].filter((e) => {
    const box = e.getBoundingClientRect();
    return box.width && box.right > window.innerWidth + 1 && !e.closest(".scroll, .parts");
  });
  return [`${over} px too wide`, ...wide.slice(0, 4).map((e) => e.outerHTML.slice(0, 90))];
}

// Where the keyboard is, and whether an outline shows it: on the element, on what stands for it, or around it.
function focus() {
  const e = document.activeElement;
  if (!e || e === document.body) return null;
  const around = [e, e.nextElementSibling, e.closest(".tag.small"), e.closest(".button"), e.closest(".owner-slip")];
  const shown = around.some((one) => {
    const style = one && getComputedStyle(one);
    return style && style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2;
  });
  const box = e.getBoundingClientRect();
  return {
    shown,
    inView: box.bottom > 0 && box.top < innerHeight,
    filled: e.matches(".next .do :is(button, .button):not(.quiet)"),
    text: (e.innerText || e.value || e.name || e.id || "").trim().slice(0, 60),
    html: e.outerHTML.slice(0, 120),
  };
}

function isAt(wanted, tag) {
  const e = document.activeElement;
  return (!tag || e.tagName === tag) && [e.id, e.name, (e.innerText ?? "").trim()].includes(wanted);
}
