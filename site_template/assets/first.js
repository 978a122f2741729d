/* Runs before the page is drawn, so that a night page never flashes white. */
(function () {
  "use strict";
  var root = document.documentElement;
  var dark = window.matchMedia("(prefers-color-scheme: dark)");
  root.classList.add("js");
  /* From the start, so that no page is laid out only to be hidden. */
  if (root.dataset.single) root.classList.add("single");
  ["scheme", "units"].forEach(function (name) {
    try {
      var kept = window.localStorage.getItem("sheltermap-" + name);
      if (kept && /^[a-z]+$/.test(kept)) root.setAttribute("data-" + name, kept);
    } catch (ignored) { /* a browser may forbid storage; the page works without */ }
  });
  function show() {
    var scheme = root.getAttribute("data-scheme");
    root.setAttribute("data-shown", scheme === "auto" ? (dark.matches ? "dark" : "light") : scheme);
  }
  show();
  window.SM = { show: show };
  dark.addEventListener("change", show);
})();
