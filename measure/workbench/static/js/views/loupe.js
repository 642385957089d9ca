// @ts-check
/**
 * The loupe: pixels as pixels round a pick, the cross-hair exactly at its sub-pixel place, and
 * the ± of a snapped pick as a small ellipse. Takes the photo's pixels and a point. Effect.
 */

import { askImage, latest, withQuery } from "../api.js";
import { h } from "../dom.js";
import { plain } from "../format.js";
import { LOUPE_ZOOM, loupePatch, loupeTile, placeLoupe } from "../loupe_place.js";

const TILE_PX = 320;

/** @param {() => {survey: string | null, photo: string, width: number, height: number} | null} about */
export function makeLoupe(about) {
  const canvas = /** @type {HTMLCanvasElement} */ (h("canvas", { "aria-hidden": "true" }));
  const says = h("output", { "aria-live": "off" });
  const el = h("div", { class: "loupe", hidden: true }, canvas, says);
  const context = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
  /** @type {{image: ImageBitmap, x: number, y: number, width: number, height: number, of: string} | null} */
  let tile = null;
  /** @type {{point: readonly number[], size: number, ellipse: number | null} | null} */
  let shown = null;

  const fetcher = latest(
    (/** @type {{href: string, at: any, of: string}} */ want, signal) => askImage(want.href, signal),
    (image, want) => { tile?.image.close(); tile = { image, ...want.at, of: want.of }; paint(); },
    () => undefined,
  );

  function paint() {
    if (!shown) return;
    const { point, size, ellipse } = shown;
    const dots = devicePixelRatio || 1;
    const side = Math.round(size * dots);
    if (canvas.width !== side) Object.assign(canvas, { width: side, height: side });
    Object.assign(canvas.style, { width: `${size}px`, height: `${size}px` });
    const patch = loupePatch(point, size);
    const style = getComputedStyle(el);
    context.setTransform(dots, 0, 0, dots, 0, 0);
    context.clearRect(0, 0, size, size);
    if (tile) {
      context.imageSmoothingEnabled = false;
      context.drawImage(tile.image, (tile.x - patch.x) * LOUPE_ZOOM, (tile.y - patch.y) * LOUPE_ZOOM, tile.width * LOUPE_ZOOM, tile.height * LOUPE_ZOOM);
    }
    const mid = size / 2;
    for (const [colour, width] of [[style.getPropertyValue("--halo"), 3], [style.getPropertyValue("--ink"), 1]]) {
      context.strokeStyle = String(colour);
      context.lineWidth = Number(width);
      context.beginPath();
      for (const [x0, y0, x1, y1] of [[0, mid, mid - 7, mid], [mid + 7, mid, size, mid], [mid, 0, mid, mid - 7], [mid, mid + 7, mid, size]]) {
        context.moveTo(x0, y0);
        context.lineTo(x1, y1);
      }
      context.stroke();
      if (ellipse) {
        context.beginPath();
        context.arc(mid, mid, Math.max(3, ellipse * LOUPE_ZOOM), 0, 2 * Math.PI);
        context.stroke();
      }
    }
    context.fillStyle = style.getPropertyValue("--chalk");
    context.fillRect(mid - 1, mid - 1, 2, 2);
  }

  return {
    el,
    /**
     * @param {readonly number[]} pointPhoto @param {readonly number[]} pointScreen
     * @param {{width: number, height: number}} sheet @param {{u_px?: number | null, word?: string}} [more]
     */
    show(pointPhoto, pointScreen, sheet, more = {}) {
      const photo = about();
      if (!photo) return;
      const place = placeLoupe(pointScreen, sheet);
      shown = { point: pointPhoto, size: place.size, ellipse: more.u_px ?? null };
      Object.assign(el.style, { left: `${place.x}px`, top: `${place.y}px`, width: `${place.size + 4}px`, height: `${place.size + 4}px` });
      el.hidden = false;
      const u = more.u_px ? `, ±${plain(more.u_px, 2)} px` : "";
      says.replaceChildren(more.word ? `${more.word}${u}` : `${plain(pointPhoto[0], 1)}, ${plain(pointPhoto[1], 1)}`);
      const patch = loupePatch(pointPhoto, place.size);
      const of = `${photo.survey}/${photo.photo}`;
      const inside = tile && tile.of === of && patch.x >= tile.x && patch.y >= tile.y && patch.x + patch.width <= tile.x + tile.width && patch.y + patch.height <= tile.y + tile.height;
      if (!inside) {
        const at = loupeTile(pointPhoto, photo, TILE_PX);
        const same = tile && tile.of === of && tile.x === at.x && tile.y === at.y;
        if (!same) {
          const href = withQuery(`/api/surveys/${photo.survey}/photos/${encodeURIComponent(photo.photo)}/view`, { ...at, out_width: at.width, out_height: at.height });
          fetcher.ask({ href, at, of });
        }
      }
      paint();
    },
    hide() { el.hidden = true; shown = null; },
  };
}
