/* The picture on the atlas's map: one of those that ship, or one painted from tiles. */
(() => {
  "use strict";
  const { byId } = window.SM.words;
  const { picture } = window.SM.atlassaved;
  const { pictureOf } = window.SM.atlasmap;

  /* What a map does not follow. */
  function noteWords({ show, dearer }) {
    if (show === "saved" && dearer < 0) return "No dearer kit of this atlas is compared with this one.";
    if (show === "months" || show === "best") return "This map is of the whole year: it does not change with the month.";
    if (show === "cheapest") return "This map is of all kits: it does not change with the kit.";
    return "";
  }

  /* Return the function that shows a choice; `words` say it to those who cannot see it. */
  function shower(atlas, map, overlay) {
    const note = byId("atlas-note");
    let picked = "", painting = 0;

    function put(address, words) {
      overlay.setOpacity(address ? 1 : 0);
      if (address && address !== picked) overlay.setUrl(address);
      picked = address;
      const image = overlay.getElement();
      if (image) image.alt = words;
    }
    /* Only the newest of several that are being painted counts. */
    async function paint(choice, words) {
      const own = painting;
      note.textContent = "Reading the cells in view.";
      try {
        const address = await picture(atlas, map.getBounds(), choice);
        if (own !== painting) return;
        note.textContent = address ? "" : "Zoom in to compare: the view holds too many cells.";
        put(address ?? "", words);
      } catch (error) {
        note.textContent = error.message;
      }
    }
    return (choice, words) => {
      painting += 1;
      note.textContent = noteWords(choice);
      if (choice.show !== "saved") put(pictureOf(atlas, choice), words);
      else if (choice.dearer < 0) put("", words);
      else paint(choice, words);
    };
  }

  window.SM.atlaslayer = { shower };
})();
