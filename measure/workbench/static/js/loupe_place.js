// @ts-check
/** Where the loupe stands and which patch of the photo it shows. Pure. */

/** @typedef {[number, number]} Point */

export const LOUPE_ZOOM = 8;

/**
 * The loupe is a third of the sheet's height, and stands on the side away from the pointer,
 * so that it covers neither the pointer nor what lies between.
 * @param {readonly number[]} pointScreen @param {{width: number, height: number}} sheet
 * @returns {{x: number, y: number, size: number}}
 */
export function placeLoupe(pointScreen, sheet) {
  const size = Math.round(Math.min(Math.max(sheet.height / 3, 160), sheet.height * 0.6, sheet.width * 0.6));
  const gap = 12;
  const right = pointScreen[0] < sheet.width / 2;
  const low = pointScreen[1] < sheet.height / 2;
  return {
    x: right ? sheet.width - size - gap : gap,
    y: low ? sheet.height - size - gap : gap,
    size,
  };
}

/**
 * The patch shown, in photo pixels, its middle exactly at the pick.
 * @param {readonly number[]} pointPhoto @param {number} size of the loupe on the screen
 * @param {number} [zoom]
 */
export function loupePatch(pointPhoto, size, zoom = LOUPE_ZOOM) {
  const side = size / zoom;
  return { x: pointPhoto[0] - side / 2, y: pointPhoto[1] - side / 2, width: side, height: side };
}

/**
 * The whole pixels to fetch so that small moves need nothing new.
 * @param {readonly number[]} pointPhoto @param {{width: number, height: number}} photo
 * @param {number} side
 */
export function loupeTile(pointPhoto, photo, side) {
  const clamp = (/** @type {number} */ n, /** @type {number} */ most) => Math.min(Math.max(0, n), Math.max(0, most));
  const width = Math.min(side, photo.width);
  const height = Math.min(side, photo.height);
  return {
    x: clamp(Math.round(pointPhoto[0] - width / 2), photo.width - width),
    y: clamp(Math.round(pointPhoto[1] - height / 2), photo.height - height),
    width,
    height,
  };
}
