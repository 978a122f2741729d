/* What the atlas packs: scripts loaded when asked for, and texts that the browser inflates. */
(() => {
  "use strict";
  const waiting = new Map(), loads = new Map();

  /* The bytes behind a text: base64 of what zlib has deflated. */
  async function inflated(text) {
    const packed = Uint8Array.from(window.atob(text), (letter) => letter.charCodeAt(0));
    const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("deflate"));
    return new Uint8Array(await new Response(stream).arrayBuffer());
  }

  async function inflatedText(text) { return new TextDecoder().decode(await inflated(text)); }

  /* Differences become values in place; a byte wraps at 256, as it did when they were taken. */
  function summed(bytes) {
    for (let at = 1; at < bytes.length; at += 1) bytes[at] += bytes[at - 1];
    return bytes;
  }

  /* What a data file of ours holds, asked for once: from a file, a page can load scripts alone.
     The file calls SM_ATLAS with its own path and content. */
  function loaded(path) {
    if (!loads.has(path)) {
      loads.set(path, new Promise((give, fail) => {
        waiting.set(path, give);
        const script = document.createElement("script");
        script.src = path;
        script.addEventListener("error", () => {
          loads.delete(path);
          fail(new Error(`${path} is missing from this copy.`));
        });
        document.body.appendChild(script);
      }));
    }
    return loads.get(path);
  }

  window.SM_ATLAS = (path, content) => waiting.get(path)?.(content);
  window.SM_ATLAS_TILE = (name, content) => window.SM_ATLAS(`tiles/${name}.js`, content);
  window.SM.atlaspack = { inflated, inflatedText, summed, loaded };
})();
