/* How every page is shown: units and screen, paper, and the one-file copy's pages. */
(() => {
  "use strict";
  const { byId } = window.SM.words;
  const root = document.documentElement;

  /* Units and screen, remembered per browser. */
  for (const name of ["units", "scheme"]) {
    const select = byId(name);
    select.value = root.getAttribute(`data-${name}`);
    select.addEventListener("change", () => {
      root.setAttribute(`data-${name}`, select.value);
      window.SM.show();
      try {
        window.localStorage.setItem(`sheltermap-${name}`, select.value);
      } catch { /* not kept */ }
    });
  }

  /* Paper has no buttons: what a leg holds is printed open. */
  let folded = [];
  window.addEventListener("beforeprint", () => {
    folded = [...document.querySelectorAll("main .legs details:not([open])")];
    for (const one of folded) one.open = true;
  });
  window.addEventListener("afterprint", () => { for (const one of folded) one.open = false; });

  /* One-file copy: one page at a time, by the part of the address after #. */
  const journey = document.title;
  function aim(hash) { return byId(decodeURIComponent(hash.slice(1))); }
  function markLinks(id) {
    for (const link of document.querySelectorAll("nav a[data-page]")) {
      if (`page-${link.dataset.page}` === id) link.setAttribute("aria-current", "page");
      else link.removeAttribute("aria-current");
    }
  }
  function turn(event, hash) {
    const pages = [...document.querySelectorAll(".page")];
    const wanted = aim(hash);
    const shown = wanted?.closest(".page") ?? pages[0];
    for (const page of pages) page.classList.toggle("shown", page === shown);
    markLinks(shown.id);
    byId("menu").togglePopover?.(false);
    document.title = `${shown.dataset.title} · ${journey}`;
    /* As after loading a file: keys and screen readers go on at the new page, not in the menu. */
    if (event) (wanted && wanted !== shown && wanted.tabIndex >= 0 ? wanted : shown).focus({ preventScroll: true });
    if (wanted === shown || !wanted) window.scrollTo(0, 0);
    window.dispatchEvent(new Event("sm-turn"));
  }

  /* A messenger's viewer may forbid to follow a link, even inside the file: pages turn all the same. */
  function follow(event) {
    const hash = event.target.closest?.('a[href^="#"]')?.getAttribute("href");
    if (!hash || !aim(hash)?.closest(".page") || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    try { window.history.pushState(null, "", hash); } catch { /* no way back, then */ }
    turn(event, hash);
    if (!aim(hash).classList.contains("page")) aim(hash).scrollIntoView();
  }
  if (root.dataset.single) {
    window.addEventListener("hashchange", (event) => turn(event, window.location.hash));
    document.addEventListener("click", follow);
    turn(null, window.location.hash);
  }
})();
