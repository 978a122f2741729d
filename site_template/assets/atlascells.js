/* Cells of the atlas: where they lie, and what a tile tells of each.
   Rows count from the south, columns from the west, months from 0. */
(() => {
  "use strict";
  const { inflated, summed, loaded } = window.SM.atlaspack;
  const MISSING = 255; // stored where there is no climate, or nobody looked
  const CERTAIN = 200; // stored for a share of 1
  const LAYERS = ["share", "danger", "factor", "hazard"];
  const tiles = new Map();

  /* A longitude at `west` or less than a turn east of it. [degrees] */
  function eastOf(lng, west) { return west + ((lng - west) % 360 + 360) % 360; }

  /* The cell that holds a point; null outside the grid. */
  function cellAt(grid, point) {
    const [high, wide] = grid.step;
    const row = Math.floor((point.lat - grid.south) / high);
    const column = Math.floor((eastOf(point.lng, grid.west) - grid.west) / wide);
    return row < 0 || row >= grid.rows || column >= grid.columns ? null : { row, column };
  }

  function held(value, count) { return Math.min(Math.max(value, 0), count - 1); }

  /* A cell some rows and columns away, held at the edge of the grid. */
  function moved(grid, cell, rows, columns) {
    return { row: held(cell.row + rows, grid.rows), column: held(cell.column + columns, grid.columns) };
  }

  /* South-western and north-eastern corner. [degrees] */
  function bounds(grid, cell) {
    const [high, wide] = grid.step;
    const south = grid.south + cell.row * high, west = grid.west + cell.column * wide;
    return [[south, west], [south + high, west + wide]];
  }

  function middle(grid, cell) {
    const [[south, west], [north, east]] = bounds(grid, cell);
    return { lat: (south + north) / 2, lng: (west + east) / 2 };
  }

  function tileOf(grid, cell) {
    const size = grid.tile_cells;
    return {
      name: `${Math.floor(cell.row / size)}_${Math.floor(cell.column / size)}`,
      position: (cell.row % size) * size + cell.column % size
    };
  }

  /* A tile whose layers are inflated when asked for: a map needs one of them, a cell all. */
  async function opened(name) {
    const content = await loaded(`tiles/${name}.js`), layers = new Map();
    function layer(key) {
      if (!layers.has(key)) layers.set(key, content[key] ? inflated(content[key]).then(summed) : null);
      return layers.get(key);
    }
    return { cells: content.cells, height: content.height, layer };
  }

  function tile(name) {
    if (!tiles.has(name)) {
      tiles.set(name, opened(name).catch((error) => {
        tiles.delete(name);
        throw error;
      }));
    }
    return tiles.get(name);
  }

  /* What is known of one cell: its height, and functions from a kit's or kind's position and a
     month to a value, null where missing. */
  async function record({ cells, height, layer }, at) {
    const layers = {};
    for (const key of LAYERS) layers[key] = await layer(key);
    function code(key, first, month) {
      const found = layers[key]?.[(first * 12 + month) * cells.length + at];
      return found === undefined || found === MISSING ? null : found;
    }
    function share(key) {
      return (kit, month) => {
        const found = code(key, kit, month);
        return found === null ? null : found / CERTAIN;
      };
    }
    return {
      height: height[at],
      sound: share("share"),
      danger: share("danger"),
      factor: (kit, month) => code("factor", kit, month),
      hazard: (kind, month) => code("hazard", kind, month)
    };
  }

  /* The record of a cell; null where the atlas has no data: sea, or outside. */
  async function reading(atlas, cell) {
    const { name, position } = tileOf(atlas.grid, cell);
    if (!atlas.tiles.includes(name)) return null;
    const kept = await tile(name), at = kept.cells.indexOf(position);
    return at < 0 ? null : record(kept, at);
  }

  window.SM.atlascells = { MISSING, CERTAIN, eastOf, cellAt, moved, bounds, middle, tileOf, tile, reading };
})();
