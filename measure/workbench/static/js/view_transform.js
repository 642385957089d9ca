// @ts-check
/**
 * The view of one sheet: an immutable value `{scale, dx, dy}`, screen = sheet * scale + (dx, dy).
 *
 * A *sheet* point is in photo pixels on the photo, and `(u, -v)` millimetres on the wall, so
 * that both run right and down like the screen. Screen points are CSS pixels from the top left
 * of the sheet. Every function returns the same object when nothing changes. Pure.
 *
 * @typedef {[number, number]} Point
 * @typedef {{readonly scale: number, readonly dx: number, readonly dy: number}} View
 * @typedef {{x: number, y: number, width: number, height: number}} Box
 */

/** @type {View} */
export const IDENTITY = Object.freeze({ scale: 1, dx: 0, dy: 0 });

/** @param {number} scale @param {number} dx @param {number} dy @returns {View} */
export function makeView(scale, dx, dy) {
  return Object.freeze({ scale, dx, dy });
}

/** @param {View} view @param {readonly number[]} pointSheet @returns {Point} */
export function screenFromSheet(view, pointSheet) {
  return [pointSheet[0] * view.scale + view.dx, pointSheet[1] * view.scale + view.dy];
}

/** @param {View} view @param {readonly number[]} pointScreen @returns {Point} */
export function sheetFromScreen(view, pointScreen) {
  return [(pointScreen[0] - view.dx) / view.scale, (pointScreen[1] - view.dy) / view.scale];
}

/**
 * Zoom by a factor and keep the point under the pointer where it is.
 * @param {View} view @param {number} factor @param {readonly number[]} aboutScreen
 * @param {[number, number]} limits smallest and largest scale @returns {View}
 */
export function zoomAbout(view, factor, aboutScreen, limits) {
  const scale = Math.min(limits[1], Math.max(limits[0], view.scale * factor));
  if (scale === view.scale) return view;
  const ratio = scale / view.scale;
  return makeView(
    scale,
    aboutScreen[0] - (aboutScreen[0] - view.dx) * ratio,
    aboutScreen[1] - (aboutScreen[1] - view.dy) * ratio,
  );
}

/** @param {View} view @param {number} x @param {number} y @returns {View} */
export function panBy(view, x, y) {
  return x === 0 && y === 0 ? view : makeView(view.scale, view.dx + x, view.dy + y);
}

/**
 * The view that shows a whole box, centred, with a margin on every side.
 * @param {Box} boxSheet @param {{width: number, height: number}} screen @param {number} margin
 * @returns {View}
 */
export function fitBox(boxSheet, screen, margin) {
  const across = Math.max(1, screen.width - 2 * margin);
  const down = Math.max(1, screen.height - 2 * margin);
  const scale = Math.min(
    across / Math.max(boxSheet.width, 1e-9),
    down / Math.max(boxSheet.height, 1e-9),
  );
  return makeView(
    scale,
    screen.width / 2 - (boxSheet.x + boxSheet.width / 2) * scale,
    screen.height / 2 - (boxSheet.y + boxSheet.height / 2) * scale,
  );
}

/**
 * Move the view as little as possible so that a point stands inside the margin.
 * @param {View} view @param {readonly number[]} pointSheet
 * @param {{width: number, height: number}} screen @param {number} margin @returns {View}
 */
export function bringIntoView(view, pointSheet, screen, margin) {
  const [x, y] = screenFromSheet(view, pointSheet);
  const m = Math.min(margin, screen.width / 3, screen.height / 3);
  const inside = (/** @type {number} */ at, /** @type {number} */ size) =>
    at < m ? m - at : at > size - m ? size - m - at : 0;
  return panBy(view, inside(x, screen.width), inside(y, screen.height));
}

/** @param {View} view @param {{width: number, height: number}} screen @returns {Box} */
export function visibleBox(view, screen) {
  const [x, y] = sheetFromScreen(view, [0, 0]);
  return { x, y, width: screen.width / view.scale, height: screen.height / view.scale };
}

/** @param {Box} box @param {number} share of the width and height added on every side @returns {Box} */
export function growBox(box, share) {
  const gx = box.width * share;
  const gy = box.height * share;
  return { x: box.x - gx, y: box.y - gy, width: box.width + 2 * gx, height: box.height + 2 * gy };
}

/** @param {Box} box @param {Box} limit @returns {Box | null} null where they do not meet */
export function clipBox(box, limit) {
  const x = Math.max(box.x, limit.x);
  const y = Math.max(box.y, limit.y);
  const right = Math.min(box.x + box.width, limit.x + limit.width);
  const bottom = Math.min(box.y + box.height, limit.y + limit.height);
  return right > x && bottom > y ? { x, y, width: right - x, height: bottom - y } : null;
}

/** @param {Box} outer @param {Box} inner @returns {boolean} */
export function boxHolds(outer, inner) {
  const slack = 1e-6 * Math.max(inner.width, inner.height);
  return (
    outer.x <= inner.x + slack &&
    outer.y <= inner.y + slack &&
    outer.x + outer.width >= inner.x + inner.width - slack &&
    outer.y + outer.height >= inner.y + inner.height - slack
  );
}
