/* The map of nights that a dearer kit saves, painted from the tiles in view: pictures of every
   pair of kits would be larger than all the rest of an atlas. */
(() => {
  "use strict";
  const { MISSING, CERTAIN, tile } = window.SM.atlascells;
  const { MONTH_DAYS } = window.SM.words;
  const MOST_TILES = 600;
  const WIDEST = 900; // px, as wide as the other pictures
  const RADIAN = Math.PI / 180;

  /* Mercator's northing of a latitude in degrees, and back. */
  function northing(latitude) { return Math.asinh(Math.tan(latitude * RADIAN)); }
  function latitudeAt(north) { return Math.atan(Math.sinh(north)) / RADIAN; }

  /* Names of the tiles that lie in view, of those that exist. */
  function inView(atlas, view) {
    const { grid } = atlas, [high, wide] = grid.step, size = grid.tile_cells;
    return atlas.tiles.filter((name) => {
      const [row, column] = name.split("_").map(Number);
      const south = grid.south + row * size * high, west = grid.west + column * size * wide;
      return south < view.getNorth() && south + size * high > view.getSouth()
        && west < view.getEast() && west + size * wide > view.getWest();
    });
  }

  /* The class of a number of nights: 1 for the first; classes rise. */
  function classOf(classes, nights) { return classes.findLastIndex((one) => nights >= one.floor) + 1; }

  /* Class numbers of all cells of the grid, 0 where nothing is known or the tile is not there. */
  async function classified(atlas, names, { kit, dearer, month }) {
    const { grid } = atlas, size = grid.tile_cells, found = new Uint8Array(grid.rows * grid.columns);
    await Promise.all(names.map(async (name) => {
      const held = await tile(name), shares = await held.layer("share");
      const [top, left] = name.split("_").map((part) => part * size), count = held.cells.length;
      held.cells.forEach((position, at) => {
        const first = shares[(kit * 12 + month) * count + at];
        const second = shares[(dearer * 12 + month) * count + at];
        if (first === MISSING || second === MISSING) return;
        const place = (top + Math.floor(position / size)) * grid.columns + left + position % size;
        found[place] = classOf(atlas.legends.saved, (second - first) / CERTAIN * MONTH_DAYS[month]);
      });
    }));
    return found;
  }

  /* For each row of a picture of some height, northernmost first, the row of the grid it shows. */
  function pictureRows(grid, height) {
    const top = northing(grid.south + grid.rows * grid.step[0]), bottom = northing(grid.south);
    return Array.from({ length: height }, (_, row) => {
      const at = latitudeAt(top - (row + 0.5) / height * (top - bottom));
      return Math.min(Math.floor((at - grid.south) / grid.step[0]), grid.rows - 1);
    });
  }

  function painted(atlas, found) {
    const { grid } = atlas, width = Math.min(WIDEST, grid.columns);
    const turns = northing(grid.south + grid.rows * grid.step[0]) - northing(grid.south);
    const height = Math.max(1, Math.round(width * turns / (grid.columns * grid.step[1] * RADIAN)));
    const colours = atlas.legends.saved.map(({ colour }) =>
      [1, 3, 5].map((at) => Number.parseInt(colour.slice(at, at + 2), 16)));
    const canvas = document.createElement("canvas"), pen = canvas.getContext("2d");
    Object.assign(canvas, { width, height });
    const image = pen.createImageData(width, height);
    pictureRows(grid, height).forEach((row, line) => {
      for (let x = 0; x < width; x += 1) {
        const column = Math.floor((x + 0.5) / width * grid.columns);
        const shown = found[row * grid.columns + column];
        if (shown) image.data.set([...colours[shown - 1], 255], (line * width + x) * 4);
      }
    });
    pen.putImageData(image, 0, 0);
    return canvas.toDataURL();
  }

  /* The picture as a data address; null where the view holds too many tiles to load. */
  async function picture(atlas, view, choice) {
    const names = inView(atlas, view);
    return names.length > MOST_TILES ? null : painted(atlas, await classified(atlas, names, choice));
  }

  window.SM.atlassaved = { inView, classOf, pictureRows, classified, picture };
})();
