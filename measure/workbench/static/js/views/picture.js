// @ts-check
/**
 * The picture of a sheet: a canvas that shows the last window the server rendered, moved and
 * scaled with the view until the sharp one arrives. The old picture stays until then. Effect.
 */

import { askImage, latest } from "../api.js";
import { boxHolds, clipBox, growBox, visibleBox } from "../view_transform.js";

/** @typedef {import("../view_transform.js").Box} Box */
/** @typedef {import("../view_transform.js").View} View */

/**
 * @param {object} given
 * @param {HTMLCanvasElement} given.canvas
 * @param {() => Box | null} given.limits the whole picture in sheet coordinates; null: nothing to show
 * @param {(box: Box, width: number, height: number) => string | null} given.url
 * @param {(problem: Error | null) => void} given.told a window arrived (null) or was refused
 */
export function makePicture({ canvas, limits, url, told }) {
  const context = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
  /** @type {{image: ImageBitmap, box: Box, edition: number} | null} */
  let base = null;
  /** @type {{image: ImageBitmap, box: Box, scale: number} | null} */
  let sharp = null;
  /** @type {View} */
  let view = { scale: 1, dx: 0, dy: 0 };
  let size = { width: 1, height: 1 };
  let timer = 0;
  let idle = 0;
  let edition = 0;

  const fetcher = latest(
    (/** @type {{href: string, box: Box, scale: number, whole: boolean, edition: number}} */ want, signal) => askImage(want.href, signal),
    (image, want) => {
      if (want.whole) {
        base?.image.close();
        base = { image, box: want.box, edition: want.edition };
      } else {
        sharp?.image.close();
        sharp = { image, box: want.box, scale: want.scale };
      }
      told(null);
      paint();
      if (want.whole || want.edition !== edition) askSharp(0);
      else if (base && base.edition !== edition) idle = setTimeout(askWhole, 400);
    },
    (problem) => told(problem),
  );

  function paint() {
    const dots = devicePixelRatio || 1;
    const [w, h] = [Math.round(size.width * dots), Math.round(size.height * dots)];
    if (canvas.width !== w || canvas.height !== h) Object.assign(canvas, { width: w, height: h });
    context.setTransform(1, 0, 0, 1, 0, 0);
    context.clearRect(0, 0, w, h);
    context.setTransform(view.scale * dots, 0, 0, view.scale * dots, view.dx * dots, view.dy * dots);
    context.imageSmoothingEnabled = view.scale < 4;
    for (const layer of [base, sharp]) {
      if (layer) context.drawImage(layer.image, layer.box.x, layer.box.y, layer.box.width, layer.box.height);
    }
  }

  function askWhole() {
    const all = limits();
    if (!all) return;
    const scale = Math.min(view.scale, 1200 / Math.max(all.width, all.height));
    const href = url(all, Math.max(1, Math.round(all.width * scale)), Math.max(1, Math.round(all.height * scale)));
    if (href) fetcher.ask({ href, box: all, scale, whole: true, edition });
  }

  /** @param {number} delay_ms */
  function askSharp(delay_ms) {
    clearTimeout(timer);
    clearTimeout(idle);
    timer = setTimeout(() => {
      const all = limits();
      if (!all || size.width < 2) return;
      const dots = Math.min(devicePixelRatio || 1, 2);
      if (!base) { askWhole(); return; }
      const box = clipBox(growBox(visibleBox(view, size), 0.05), all);
      if (!box) return;
      const scale = view.scale * dots;
      const href = url(box, Math.max(1, Math.round(box.width * scale)), Math.max(1, Math.round(box.height * scale)));
      if (href) fetcher.ask({ href, box, scale, whole: false, edition });
    }, delay_ms);
  }

  return {
    /** @param {View} nextView @param {{width: number, height: number}} nextSize */
    show(nextView, nextSize) {
      view = nextView;
      size = nextSize;
      paint();
      const all = limits();
      const seen = all && clipBox(visibleBox(view, size), all);
      const dots = Math.min(devicePixelRatio || 1, 2);
      const fine = sharp && seen && boxHolds(sharp.box, seen) && Math.abs(sharp.scale / (view.scale * dots) - 1) < 0.02;
      if (!fine) askSharp(base ? 70 : 0);
    },
    /** The picture itself changed: fetch it anew at once, keep the old one until it comes. */
    renew() {
      edition += 1;
      askSharp(0);
    },
    /** Forget everything, for another photo or face. */
    clear() {
      fetcher.stop();
      clearTimeout(timer);
      clearTimeout(idle);
      base = null;
      sharp = null;
      paint();
    },
    get empty() { return !base && !sharp; },
  };
}
