// A visit may end while a page is open. What the page holds outlives it: the page says so, and once somebody has
// signed in again, in another tab, it goes on under the new visit.

// The cookie's token is of the present visit, the one written into the page may be of a former one.
export function token() {
  const cookie = /(?:^|;\s*)csrftoken=([^;]+)/.exec(document.cookie);
  return cookie?.[1] ?? document.querySelector("[name=csrfmiddlewaretoken]")?.value ?? "";
}

// A link that leaves this page as it is.
export function signIn() {
  const link = document.createElement("a");
  link.href = document.body.dataset.signIn;
  link.target = "_blank";
  link.textContent = "Sign in";
  return link;
}
