// @ts-check
/**
 * What the hand does on a sheet: aim, place, drag, nudge, choose. Joins gestures, link and bench;
 * one for each sheet. All picks end in photo pixels, whichever sheet they were made on. Effect.
 */

import { askJson, latest } from "../api.js";
import { makePick, movePick, nudgePick, ownerOf, pointedU } from "../edits/picks.js";
import { distance } from "../geometry.js";
import { listenToPointer } from "../gestures/pointer.js";
import { arrowStep } from "../keys.js";
import { pathFromText, pathText, valueAt } from "../paths.js";
import { mayEnd } from "../pick_sequence.js";
import { markNear, pickUnder } from "./near.js";

const NUDGE_MS = 500;
let gestureNo = 0;

/**
 * @param {object} given
 * @param {import("../views/sheet.js").Sheet} given.sheet
 * @param {import("../store.js").Store} given.store @param {import("../bench.js").Bench} given.bench
 * @param {import("../link.js").Link} given.link @param {any} given.loupe
 * @param {() => import("../marks.js").Mark[]} given.marks
 * @param {(pointSheet: number[] | null) => void} given.crossed tell the other sheet
 * @param {(key: string | null) => void} given.hovered
 * @param {() => number} given.grab reach of a handle in screen pixels
 * @param {import("./on_drawing.js").DrawingTool | null} [given.drawing] the elevation over the wall
 */
export function workOnSheet({ sheet, store, bench, link, loupe, marks, crossed, hovered, grab, drawing = null }) {
  const onPhoto = sheet.kind === "photo";
  let mark = 0;
  let dragKey = "";
  let dragPath = "";
  let nudgedAt = 0;
  /** @type {{point: number[], u_px: number} | null} */
  let offer = null;

  /** ± of what is pointed at now; on the wall no finer than by hand. */
  const coarse = () => (onPhoto ? pointedU(sheet.view.scale) : null);

  /** @param {readonly number[]} pointSheet @returns {Promise<number[] | null>} */
  const photoPoint = async (pointSheet) => (onPhoto ? [...pointSheet] : (await link.photoFromWall([pointSheet]))[0]);

  const snapper = latest(
    (/** @type {{point: readonly number[], radius: number}} */ ask, signal) => askJson(`/api/surveys/${store.state.survey}/snap`, { photo: photoId(), ...ask }, { signal }),
    (told) => { offer = told.snapped ?? null; showAim(); },
    () => { offer = null; },
  );

  function photoId() {
    return valueAt(bench.doc(), ["faces", `@${store.state.face}`])?.photo ?? bench.doc()?.photos[0]?.id;
  }

  /** @type {{screen: [number, number], photo: readonly number[], free: boolean} | null} */
  let aim = null;
  function showAim() {
    if (!aim || !onPhoto) return;
    const taken = offer && !aim.free ? offer : null;
    loupe.show(taken ? taken.point : aim.photo, aim.screen, sheet.size, { u_px: taken?.u_px, word: taken ? "snapped" : "" });
    sheet.overlay.drawOffers(taken ? [{ points: diamond(sheet.toScreen(taken.point)), closed: true }] : []);
  }
  const diamond = (/** @type {readonly number[]} */ [x, y]) => [[x, y - 7], [x + 7, y], [x, y + 7], [x - 7, y]];

  const thingNear = (/** @type {[number, number]} */ at) => markNear(marks(), at, sheet.toScreen);
  const pickNear = (/** @type {[number, number]} */ at) => drawing?.near(at) ?? pickUnder(marks().filter((m) => m.face === store.state.face), at, grab() / 2 + 2, store.state.chosen, sheet.toScreen);

  /** @param {string} path */
  function pickSheet(path) {
    for (const m of marks()) for (const pick of m.picks) if (pick.path === path) return pick.point;
    return null;
  }

  /** @param {string} path */
  const ownerKey = (path) => pathText(ownerOf(bench.doc(), pathFromText(path)).path);

  const dragger = latest(
    async (/** @type {{point: readonly number[], path: string, key: string}} */ to) => ({ photo: await photoPoint(to.point), ...to }),
    ({ photo, path, key }) => {
      if (!photo || key !== dragKey) return;
      bench.edit("move pick", movePick(bench.doc(), pathFromText(path), photo, coarse()), key);
    },
    () => undefined,
  );

  /** What is done to a pick under the pointer; the elevation has the same of its own. */
  const picks = {
    ownerKey,
    cursor: () => "move",
    /** @param {string} path */
    screenOf(path) { const p = pickSheet(path); return p ? sheet.toScreen(p) : null; },
    /** @param {string} path */
    click(path) { drawing?.letGo(); bench.choose(ownerKey(path), path); },
    /** @param {string} path */
    start(path) {
      gestureNo += 1;
      dragKey = `drag:${path}:${gestureNo}`;
      mark = bench.mark();
      if (store.state.pick !== path) bench.choose(ownerKey(path), path);
    },
    /** @param {[number, number]} at */
    move(at) {
      const point = sheet.toSheet(at);
      dragger.ask({ point, path: dragPath, key: dragKey });
      sheet.setCross(point);
      crossed(point);
      if (onPhoto) loupe.show(point, at, sheet.size);
    },
    /** @param {boolean} kept */
    end(kept) {
      if (!kept) { dragKey = ""; bench.backTo(mark); }
      loupe.hide();
    },
  };
  const handOf = (/** @type {string} */ path) => (drawing?.owns(path) ? drawing.ofPath(path) : picks);

  const pointer = listenToPointer({
    pane: sheet.pane,
    sheet: sheet.el,
    hasTool: () => store.state.run !== null,
    pickNear,
    pickScreen: (path) => handOf(path).screenOf(path),
    hover(at, free) {
      const point = sheet.toSheet(at);
      sheet.setCross(point);
      crossed(point);
      if (store.state.run) {
        aim = { screen: at, photo: point, free };
        if (onPhoto) {
          if (offer && distance(sheet.toScreen(offer.point), at) > 14) offer = null;
          showAim();
          if (!free) snapper.ask({ point, radius: Math.max(3, 10 / sheet.view.scale) });
        }
      } else {
        const near = pickNear(at);
        const drawn = near ? null : (drawing?.cursorAt(at) ?? null);
        const thing = near || drawn !== null ? null : thingNear(at);
        sheet.pane.style.cursor = near ? handOf(near).cursor(near) : (drawn ?? (thing ? "pointer" : ""));
        hovered(near ? handOf(near).ownerKey(near) : (thing?.key ?? null));
      }
    },
    leave() { aim = null; offer = null; loupe.hide(); sheet.overlay.drawOffers([]); sheet.setCross(null); crossed(null); hovered(null); },
    async place(at, free) {
      const taken = offer && !free && onPhoto ? offer : null;
      const photo = taken ? taken.point : await photoPoint(sheet.toSheet(at));
      if (photo) bench.place(makePick(photo, taken ? taken.u_px : coarse()));
      offer = null;
      sheet.overlay.drawOffers([]);
      if (!store.state.run) loupe.hide();
    },
    click(at) {
      const near = pickNear(at);
      if (near) { handOf(near).click(near); return; }
      if (drawing?.clickAt(at)) return;
      drawing?.letGo();
      bench.choose(thingNear(at)?.key ?? null);
    },
    doubleClick: () => bench.endRun(),
    dragStart(path) { dragKey = ""; dragPath = path; handOf(path).start(path); },
    dragMove: (at) => handOf(dragPath).move(at, dragPath),
    dragEnd: (kept) => handOf(dragPath).end(kept),
    pan: sheet.pan,
    zoom: sheet.zoom,
  });

  /** @param {string} path @param {[number, number]} by */
  function nudge(path, by) {
    const now = Date.now();
    if (now - nudgedAt > NUDGE_MS) gestureNo += 1;
    nudgedAt = now;
    bench.edit("move pick", nudgePick(bench.doc(), pathFromText(path), by), `nudge:${path}:${gestureNo}`);
    const at = pickSheet(path);
    if (!at) return;
    sheet.bring(at);
    sheet.setCross([...at]);
    crossed([...at]);
    const pick = valueAt(bench.doc(), pathFromText(path));
    if (onPhoto && pick) loupe.show(pick, sheet.toScreen(at), sheet.size, { word: `${pick[0]}, ${pick[1]}` });
  }

  /** @param {[number, number]} by in photo pixels; on the wall as many screen pixels */
  function moveCross(by) {
    const from = sheet.cross ?? sheet.toSheet([sheet.size.width / 2, sheet.size.height / 2]);
    const step = onPhoto ? 1 : 1 / sheet.view.scale;
    const to = [from[0] + by[0] * step, from[1] + by[1] * step];
    sheet.bring(to);
    sheet.setCross(to);
    crossed(to);
    if (store.state.run && onPhoto) loupe.show(to, sheet.toScreen(to), sheet.size);
  }

  sheet.el.addEventListener("keydown", async (event) => {
    if (drawing?.onKey(event)) { event.preventDefault(); event.stopPropagation(); return; }
    const handle = /** @type {Element} */ (event.target).closest?.("[data-pick]");
    const path = handle?.getAttribute("data-pick") ?? (store.state.run ? null : store.state.pick);
    const by = arrowStep(event);
    if (by) {
      if (path) nudge(path, by);
      else if (store.state.run) moveCross(by);
      else sheet.pan(-by[0] * 32, -by[1] * 32);
    } else if (event.key === "Enter" || (event.key === " " && handle)) {
      const { run } = store.state;
      if (run && run.spec.most === Infinity && mayEnd(run) && !sheet.cross) bench.endRun();
      else if (run && sheet.cross) await placeAtCross(event);
      else if (handle && path) { bench.choose(ownerKey(path), path); sheet.overlay.focusHandle(path); }
      else return;
    } else if (event.key === "Escape") {
      if (pointer.cancel()) { /* the drag is given up */ } else if (store.state.run) bench.putDown();
      else bench.choose(null);
      loupe.hide();
    } else if (event.key === "Backspace" || event.key === "Delete") {
      if (store.state.run) bench.giveBack();
      else bench.removeChosen();
    } else if (event.key === "+" || event.key === "=") sheet.zoom(1.25);
    else if (event.key === "-") sheet.zoom(1 / 1.25);
    else if (event.key === "0") sheet.fit();
    else return;
    event.preventDefault();
    event.stopPropagation();
  });

  /** Enter on the spot of the last pick ends an open run; anywhere else it picks. @param {KeyboardEvent} event */
  async function placeAtCross(event) {
    const { run } = store.state;
    const photo = sheet.cross && (await photoPoint(sheet.cross));
    if (!photo || !run) return;
    const last = run.picks[run.picks.length - 1];
    const same = last && distance(last, photo) < 0.05;
    if (same && mayEnd(run)) bench.endRun();
    else if (!same || event.repeat === false) bench.place(makePick(photo));
  }

  sheet.el.addEventListener("focusin", (event) => {
    drawing?.focusIn(event);
    const path = /** @type {Element} */ (event.target).getAttribute?.("data-pick");
    if (!path || store.state.run) return;
    bench.choose(ownerKey(path), path);
    const at = pickSheet(path);
    if (at) sheet.bring(at);
  });
  sheet.el.addEventListener("focusout", (event) => {
    loupe.hide();
    drawing?.focusOut(event);
  });
  return { get aim() { return aim; } };
}
