/* Runs before the page is drawn, so that a night page never flashes white. */
(() => {
  "use strict";
  const root = document.documentElement;
  const dark = window.matchMedia("(prefers-color-scheme: dark)");
  root.classList.add("js");
  /* From the start, so that no page is laid out only to be hidden. */
  if (root.dataset.single) root.classList.add("single");
  for (const name of ["scheme", "units"]) {
    try {
      const kept = window.localStorage.getItem(`sheltermap-${name}`);
      if (kept && /^[a-z]+$/.test(kept)) root.setAttribute(`data-${name}`, kept);
    } catch { /* a browser may forbid storage; the page works without */ }
  }
  function show() {
    const scheme = root.getAttribute("data-scheme");
    const device = dark.matches ? "dark" : "light";
    root.setAttribute("data-shown", scheme === "auto" ? device : scheme);
  }
  show();
  window.SM = { show };
  dark.addEventListener("change", show);
})();
