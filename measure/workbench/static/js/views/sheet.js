// @ts-check
/**
 * One sheet: picture, marks, cross-hair, loupe, and the view of them. The photo sheet and the
 * wall sheet differ only in what they are given. Effect.
 */

import { h } from "../dom.js";
import { IDENTITY, bringIntoView, fitBox, panBy, screenFromSheet, sheetFromScreen, zoomAbout } from "../view_transform.js";
import { makeOverlay } from "./overlay.js";
import { makePicture } from "./picture.js";

/** @typedef {import("../view_transform.js").View} View */
/** @typedef {import("../view_transform.js").Box} Box */

/**
 * @param {object} given
 * @param {"photo" | "wall"} given.kind
 * @param {string} given.name as the tag says; `call` gives it another
 * @param {() => Box | null} given.limits
 * @param {() => Box | null} given.whole what "show it all" shows
 * @param {(box: Box, width: number, height: number) => string | null} given.url
 * @param {[number, number]} given.scales smallest and largest
 * @param {() => void} given.viewed the view or the size changed
 */
export function makeSheet({ kind, name, limits, whole, url, scales, viewed }) {
  const canvas = /** @type {HTMLCanvasElement} */ (h("canvas", { class: "picture", "aria-hidden": "true" }));
  const overlay = makeOverlay(kind);
  const pane = h("div", { class: "pane", tabindex: "0", role: "application", id: `pane-${kind}` });
  const waiting = h("div", { class: "waiting", hidden: true });
  const empty = h("div", { class: "empty", hidden: true });
  const tools = h("div", { class: "tools", role: "group", "aria-label": `View of the ${kind}` },
    h("button", { type: "button", title: "Zoom in (+)", "aria-label": `Zoom into the ${kind}`, onclick: () => zoom(1.5) }, "+"),
    h("button", { type: "button", title: "Zoom out (-)", "aria-label": `Zoom out of the ${kind}`, onclick: () => zoom(1 / 1.5) }, "−"),
    h("button", { type: "button", title: "Show it all (0)", "aria-label": `Show all of the ${kind}`, onclick: () => fit() }, "all"));
  const tag = h("div", { class: "tag", "aria-hidden": "true" });
  const el = h("section", { class: `sheet ${kind}` }, canvas, pane, overlay.el, tag, tools, waiting, empty);

  /** @param {string} said as the tag says */
  function call(said) {
    tag.textContent = said;
    el.setAttribute("aria-label", said);
    pane.setAttribute("aria-label", `${said}. Arrow keys move the cross-hair or the view, Enter picks, plus and minus zoom, 0 shows it all.`);
  }
  call(name);

  /** @type {View} */
  let view = IDENTITY;
  let size = { width: 0, height: 0 };
  let fitted = false;
  let wholeShown = false;
  /** @type {number[] | null} */
  let cross = null;
  let queued = 0;
  let late = 0;

  const picture = makePicture({
    canvas, limits, url,
    told(problem) {
      clearTimeout(late);
      waiting.hidden = true;
      if (problem && /** @type {any} */ (problem).code !== "lost" && /** @type {any} */ (problem).code !== "stamp") {
        waiting.replaceChildren(problem.message);
        waiting.hidden = false;
      }
    },
  });

  function refresh() {
    if (queued) return;
    queued = requestAnimationFrame(() => {
      queued = 0;
      if (size.width < 2) return;
      picture.show(view, size);
      // for tests and for whoever inspects the page: scale and shift of this view
      pane.dataset.view = `${view.scale} ${view.dx} ${view.dy}`;
      if (picture.empty && limits() && waiting.hidden) {
        clearTimeout(late);
        late = setTimeout(() => { if (picture.empty && limits()) { waiting.replaceChildren(`Preparing the ${kind} …`); waiting.hidden = false; } }, 300);
      }
      overlay.drawCross(cross && screenFromSheet(view, cross), size);
      viewed();
    });
  }

  /** @param {View} next */
  function setView(next) {
    if (next === view) return;
    view = next;
    wholeShown = false;
    refresh();
  }

  function fit() {
    const box = whole();
    if (!box || size.width < 2) return;
    fitted = true;
    const side = kind === "wall" ? 44 : 0;
    const v = fitBox(box, { width: size.width - side, height: size.height }, 12);
    setView({ scale: v.scale, dx: v.dx + side, dy: v.dy });
    wholeShown = true;
  }

  /** @param {number} factor @param {[number, number]} [about] */
  function zoom(factor, about) {
    const [x, y] = about ?? (cross ? screenFromSheet(view, cross) : [size.width / 2, size.height / 2]);
    setView(zoomAbout(view, factor, [x, y], scales));
  }

  new ResizeObserver(() => {
    const next = { width: el.clientWidth, height: el.clientHeight };
    if (next.width === size.width && next.height === size.height) return;
    const middle = size.width ? sheetFromScreen(view, [size.width / 2, size.height / 2]) : null;
    const grew = size.width ? Math.min(next.width / size.width, next.height / size.height) : 1;
    size = next;
    if (!fitted || wholeShown) fit();
    else if (middle && size.width) {
      const scale = view.scale * (Number.isFinite(grew) && grew > 0 ? grew : 1);
      view = { scale, dx: size.width / 2 - middle[0] * scale, dy: size.height / 2 - middle[1] * scale };
    }
    refresh();
  }).observe(el);

  return {
    el, pane, overlay, picture, empty, kind,
    get view() { return view; },
    get size() { return size; },
    get cross() { return cross; },
    get fitted() { return fitted; },
    setView, refresh, fit, zoom, call,
    pan: (/** @type {number} */ dx, /** @type {number} */ dy) => setView(panBy(view, dx, dy)),
    /** @param {number[] | null} pointSheet */
    setCross(pointSheet) {
      cross = pointSheet;
      overlay.drawCross(cross && screenFromSheet(view, cross), size);
      viewed();
    },
    /** @param {readonly number[]} pointSheet */
    bring(pointSheet) { if (size.width) setView(bringIntoView(view, pointSheet, size, 60)); },
    toScreen: (/** @type {readonly number[]} */ p) => screenFromSheet(view, p),
    toSheet: (/** @type {readonly number[]} */ p) => sheetFromScreen(view, p),
    /** Another photo or face: forget the picture and show it all again. */
    start() { picture.clear(); fitted = false; fit(); refresh(); },
  };
}
/** @typedef {ReturnType<typeof makeSheet>} Sheet */
