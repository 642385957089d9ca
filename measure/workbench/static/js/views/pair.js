// @ts-check
/** The two sheets of the same wall, the movable seam between them, and the drawing on paper. Effect. */

import { withQuery } from "../api.js";
import { h } from "../dom.js";
import { plusMinusText } from "../trust_sentence.js";
import { marksOf } from "../marks.js";
import { KNIFE_MM, rowsOf, shortSize } from "../measure_rows.js";
import { makeFolds } from "../panels/folds.js";
import { offeredLines } from "../offers.js";
import { mountHand } from "../panels/hand.js";
import { workOnDrawing } from "../tools/on_drawing.js";
import { workOnHandles } from "../tools/on_handles.js";
import { workOnLines } from "../tools/on_lines.js";
import { workOnSheet } from "../tools/on_sheet.js";
import { middleOf, boxOf } from "../geometry.js";
import { solidsShown } from "../solids.js";
import { doubtsByPath } from "../suspects.js";
import { fitBox, screenFromSheet } from "../view_transform.js";
import { makeHandlesLayer } from "./handles_layer.js";
import { makeLinesLayer } from "./lines_layer.js";
import { makeLoupe } from "./loupe.js";
import { makeRod } from "./rod.js";
import { makeSheet } from "./sheet.js";
import { makeSeam } from "./seam.js";

/** What the sheet of the wall is called, by the kind of surface. */
const SHEET_NAMES = { flat: "Wall straightened", round: "Tower unrolled", roof: "Roof straightened" };

/** @param {import("../main.js").Context} context @param {HTMLElement} work */
export function mountPair(context, work) {
  const { store, bench, link } = context;
  const face = () => bench.doc()?.faces.find((/** @type {any} */ f) => f.id === store.state.face);
  const photoId = () => face()?.photo ?? bench.doc()?.photos[0]?.id;
  const photo = () => store.state.answer?.page?.photos?.[photoId()] ?? bench.doc()?.photos.find((/** @type {any} */ p) => p.id === photoId());
  const wallAnswer = () => store.state.answer?.page?.faces?.[store.state.face];
  const surveyUrl = () => `/api/surveys/${store.state.survey}`;
  let hovered = /** @type {string | null} */ (null);

  const photoBox = () => { const p = photo(); return p?.width_px && store.state.survey ? { x: 0, y: 0, width: p.width_px, height: p.height_px } : null; };
  /** @param {number[] | undefined} e @returns {import("../view_transform.js").Box | null} */
  const boxFromExtent = (e) => (e ? { x: e[0], y: -e[3], width: e[2] - e[0], height: e[3] - e[1] } : null);

  const photoSheet = makeSheet({
    kind: "photo", name: "Photo as taken", limits: photoBox, whole: photoBox, scales: [0.01, 40], viewed: () => drawOver(photoSheet),
    url: (b, w, hh) => withQuery(`${surveyUrl()}/photos/${encodeURIComponent(photoId())}/view`, { x: b.x, y: b.y, width: b.width, height: b.height, out_width: w, out_height: hh }),
  });
  const wallSheet = makeSheet({
    kind: "wall", name: "Wall straightened", limits: () => boxFromExtent(wallAnswer()?.limits_mm), whole: () => boxFromExtent(wallAnswer()?.extent_mm), scales: [0.0005, 20], viewed: () => drawOver(wallSheet),
    url: (b, w, hh) => (wallAnswer()?.solved ? withQuery(`${surveyUrl()}/walls/${encodeURIComponent(store.state.face)}/view`, { stamp: store.state.answer.stamp, u: b.x, v: -(b.y + b.height), width_mm: b.width, height_mm: b.height, out_width: w, out_height: hh, paper: paperHex() }) : null),
  });
  const rod = makeRod();
  wallSheet.el.append(rod.el);
  const loupe = makeLoupe(() => { const p = photo(); return p?.width_px ? { survey: store.state.survey, photo: photoId(), width: p.width_px, height: p.height_px } : null; });
  photoSheet.el.append(loupe.el);

  const hand = h("div", { class: "hand" });
  const seam = makeSeam(() => layOut());
  const pair = h("div", { class: "pair" }, photoSheet.el, seam.el, wallSheet.el);
  const paper = h("div", { class: "paper-view", hidden: true });
  const all = h("div", { style: { display: "contents" } }, makeFolds(context, hand), pair);
  mountHand(context, hand);

  function paperHex() { return getComputedStyle(document.documentElement).getPropertyValue("--void").trim().replace("#", ""); }

  /** @param {import("./sheet.js").Sheet} sheet */
  function marks(sheet) {
    const doc = bench.doc();
    if (!doc) return [];
    const on = { sheet: sheet.kind, answer: store.state.answer };
    if (sheet.kind === "wall") return marksOf(doc, face(), on);
    return doc.faces.filter((/** @type {any} */ f) => f.photo === photoId()).flatMap((/** @type {any} */ f) => marksOf(doc, f, on));
  }

  /** @param {import("./sheet.js").Sheet} sheet */
  function drawOver(sheet) {
    const s = store.state;
    if (!s.history) return;
    const rows = new Map(rowsOf(face(), s.answer?.results?.faces?.[s.face], s.unit, s.answer?.page?.scale_denominator ?? 1).map((row) => [row.key, row]));
    const suspects = doubtsByPath(s.answer);
    sheet.overlay.draw({
      marks: marks(sheet), view: sheet.view, size: sheet.size, chosen: s.chosen, pick: s.pick, face: s.face, suspects, hovered,
      blocked: [{ x: sheet.size.width - 110, y: 0, width: 110, height: 44 }, ...(sheet.kind === "wall" ? [{ x: 0, y: 0, width: 46, height: sheet.size.height }] : [])],
      label: (mark) => { const row = rows.get(mark.key); return { name: mark.name, size: row ? shortSize(row) : "" }; },
    });
    drawDraft(sheet);
    sheet.overlay.drawFound(offeredLines(s.offers, sheet.kind, s.face, photoId()), sheet.view);
    const joints = jointsShown(sheet.kind);
    sheet.overlay.drawJoints(joints.lines, joints.sure, sheet.view);
    if (sheet.kind === "photo") sheet.overlay.drawSolids(solidsShown(s) ? solidLines() : s.open === "checks" ? keptLines() : [], sheet.view);
    if (sheet.kind !== "wall") return;
    const told = wallAnswer();
    rod.el.hidden = !told?.sized; // before a size is known its numbers would mean nothing
    if (told?.sized) rod.draw(sheet.view, sheet.size, told.datum_mm ?? 0, s.unit, sheet.cross);
    const spots = s.map ? (s.plusMinus ?? []) : [];
    const denominator = s.answer?.page?.scale_denominator ?? 1;
    sheet.overlay.drawMap(spots.filter((/** @type {any} */ one) => one.u_mm != null).map((/** @type {any} */ one) => ({ at: screenFromSheet(sheet.view, [one.at[0], -one.at[1]]), text: plusMinusText(one.u_mm, s.unit).split("\u202f")[0], knife: one.u_mm / denominator > KNIFE_MM })));
    sheet.overlay.drawElevation(s.drawing === "over" ? (s.handles?.told?.paths ?? s.drawn?.paths ?? []) : [], s.drawn?.inferred ?? [], sheet.view);
    linesLayer.draw({ tool: lines, drawn: s.drawn, face: face(), unit: s.unit, denominator, view: sheet.view, size: sheet.size });
    handlesLayer.draw({ tool: handles, handles: s.handles, unit: s.unit, denominator, view: sheet.view, size: sheet.size });
    sheet.overlay.el.classList.toggle("under-drawing", s.drawing === "over");
    sheet.el.querySelector("canvas")?.style.setProperty("opacity", s.drawing === "over" ? "0.45" : "1");
  }

  /** Joints of the chosen courses. @param {"photo" | "wall"} kind */
  function jointsShown(kind) {
    const { chosen, answer, face: mine } = store.state;
    const id = chosen?.startsWith(`faces/@${mine}/measures/@`) ? chosen.split("@")[2] : "";
    const told = answer?.page?.faces?.[mine]?.joints?.[id];
    if (!told) return { lines: [], sure: true };
    const lines = kind === "photo" ? told.px : told.mm.map((/** @type {number[][]} */ line) => line.map(([u, v]) => [u, -v]));
    return { lines, sure: answer.results.faces[mine].measures[id].sure !== false };
  }

  function keptLines() {
    return bench.doc().faces.filter((/** @type {any} */ f) => f.photo === photoId()).flatMap((/** @type {any} */ f) => (f.guides ?? []).filter((/** @type {any} */ g) => g.found).map((/** @type {any} */ g) => ({ line: g.at, mine: true })));
  }

  function solidLines() {
    const { solids, face: mine } = store.state;
    return bench.doc().faces.filter((/** @type {any} */ f) => f.photo === photoId()).flatMap((/** @type {any} */ f) => (solids?.faces?.[f.id]?.px ?? []).map((/** @type {any} */ line) => ({ line, mine: f.id === mine })));
  }

  /** Picks of a run in the photo shown: a tie's first one lies in another. @param {import("../pick_sequence.js").PickRun} run */
  const picksHere = (run) => (run.group === "tie" ? run.picks.filter((_, i) => run.extra.faces[i] === store.state.face) : run.picks);

  /** @type {(number[] | null)[]} */
  let draftOnWall = [];
  /** @param {import("./sheet.js").Sheet} sheet */
  function drawDraft(sheet) {
    const { run } = store.state;
    const points = run ? (sheet.kind === "photo" ? picksHere(run) : draftOnWall.filter((p) => p !== null)) : [];
    const pointer = run && points.length && sheet.cross ? sheet.toScreen(sheet.cross) : null;
    sheet.overlay.drawDraft(points.map((p) => sheet.toScreen(/** @type {number[]} */ (p))), pointer, Boolean(run?.spec.closed));
  }

  /** @param {any} from @param {any} to */
  const crosser = (from, to) => {
    const follow = link.follower(from === photoSheet ? "chart" : "photo", (point) => to.setCross(point));
    return (/** @type {number[] | null} */ point) => (point ? follow.ask(point) : (follow.stop(), to.setCross(null)));
  };
  const grab = () => parseFloat(getComputedStyle(document.documentElement).getPropertyValue("--grab")) || 24;
  const lines = workOnLines({ sheet: wallSheet, store, bench, grab });
  const linesLayer = makeLinesLayer();
  const handles = workOnHandles({ sheet: wallSheet, store, bench, grab });
  const handlesLayer = makeHandlesLayer();
  wallSheet.overlay.el.append(linesLayer.el, handlesLayer.el);
  wallSheet.el.append(linesLayer.said, handlesLayer.said);
  const drawing = workOnDrawing(handles, lines, store);
  for (const [from, to] of [[photoSheet, wallSheet], [wallSheet, photoSheet]]) {
    workOnSheet({ drawing: from === wallSheet ? drawing : null, sheet: from, store, bench, link, loupe, marks: () => marks(from), crossed: crosser(from, to), hovered: (key) => { if (key !== hovered) { hovered = key; redraw(); } }, grab });
  }

  function redraw() { photoSheet.refresh(); wallSheet.refresh(); }

  function layOut() {
    const { layout } = store.state;
    const box = photoBox();
    seam.apply(pair, photoSheet.el, wallSheet.el, layout, box ? box.width / box.height : 4 / 3);
  }
  new ResizeObserver(layOut).observe(work);

  store.on((s) => [s.place], (s) => {
    if (s.place === "bench") { work.append(all, paper); layOut(); if (document.activeElement === document.body) toSheet(); } else { all.remove(); paper.remove(); }
  });
  /** The keys go to the sheet that is picked on. */
  function toSheet() {
    if (!document.activeElement?.closest(".sheet")) (store.state.layout === "wall" ? wallSheet : photoSheet).pane.focus({ preventScroll: true });
  }
  store.on((s) => [s.run === null], (s) => { if (s.run) toSheet(); });
  store.on((s) => [s.layout, s.place, photo()?.width_px], layOut);
  store.on((s) => [s.survey, photoId(), photo()?.width_px], () => photoSheet.start());
  let faceShown = "";
  store.on((s) => [s.survey, s.face, s.answer, wallAnswer()?.solved], (s) => {
    const told = wallAnswer();
    const key = `${s.survey}/${s.face}/${Boolean(told?.solved)}/${Boolean(told?.sized)}`;
    if (key !== faceShown) { faceShown = key; wallSheet.start(); } else wallSheet.picture.renew();
    emptyWall();
  });
  store.on((s) => [face()?.surface?.kind], () => wallSheet.call(SHEET_NAMES[/** @type {keyof typeof SHEET_NAMES} */ (face()?.surface?.kind ?? "flat")] ?? SHEET_NAMES.flat));
  store.on((s) => [s.run?.group], (s) => { emptyWall(); if (!s.run) loupe.hide(); });
  store.on((s) => [s.theme], () => { wallSheet.picture.renew(); redraw(); });
  store.on((s) => [s.answer, s.history, s.chosen, s.pick, s.face, s.run, s.unit, s.map, s.plusMinus, s.drawing, s.drawn, s.handles, s.solids, s.open, s.offers], redraw);
  store.on((s) => [s.run, s.answer?.stamp], async (s) => {
    photoSheet.el.classList.toggle("aiming", Boolean(s.run));
    wallSheet.el.classList.toggle("aiming", Boolean(s.run));
    const picks = s.run ? picksHere(s.run) : [];
    draftOnWall = picks.length ? await link.wallFromPhoto(picks).catch(() => []) : [];
    redraw();
  });
  store.on((s) => [s.drawing, s.paperImage], (s) => {
    paper.hidden = s.drawing !== "alone";
    pair.style.visibility = s.drawing === "alone" ? "hidden" : "";
    paper.replaceChildren(h("figure", {}, s.paperImage ? h("img", { src: s.paperImage, alt: "The elevation as it will be printed" }) : h("p", {}, s.drawingHow.problem ?? "Drawing …")));
  });

  function emptyWall() {
    const told = wallAnswer();
    wallSheet.empty.hidden = Boolean(told?.solved);
    if (told?.solved) return;
    const words = told?.problem ? `${told.problem.message} ${told.problem.hint ?? ""}` : face()?.frame ? "Working it out …" : "The wall appears here, straightened, as soon as the frame is picked.";
    wallSheet.empty.replaceChildren(h("div", {}, h("p", {}, words), face() && !face().frame && face().surface?.kind !== "round" && store.state.run?.group !== "frame" ? h("button", { type: "button", class: "main", onclick: () => bench.take("frame") }, "Pick the frame") : ""));
  }

  return {
    photoSheet, wallSheet, handles,
    /** Bring a place into view on both sheets. @param {readonly (readonly number[])[]} pointsPhoto @param {readonly number[]} pointWall */
    bring(pointsPhoto, pointWall) {
      photoSheet.bring(middleOf(pointsPhoto));
      wallSheet.bring(pointWall);
      photoSheet.setCross(middleOf(pointsPhoto));
      wallSheet.setCross([...pointWall]);
    },
    /** Show the joints of the chosen courses as large as the wall sheet allows. */
    showJoints() {
      const { lines } = jointsShown("wall");
      if (!lines.length) return;
      const box = boxOf(lines.flat());
      const view = fitBox({ ...box, x: box.x - box.width, width: 3 * box.width }, { width: wallSheet.size.width - 44, height: wallSheet.size.height }, 24);
      wallSheet.setView({ scale: view.scale, dx: view.dx + 44, dy: view.dy });
    },
    /** Bring a thing or a pick into view on both sheets. @param {string} key */
    find(key) {
      for (const sheet of [photoSheet, wallSheet]) {
        for (const mark of marks(sheet)) {
          const pick = mark.picks.find((p) => p.path === key);
          if (!pick && mark.key !== key) continue;
          const points = pick ? [pick.point] : mark.picks.map((p) => p.point);
          const box = boxOf(points);
          const room = Math.max(box.width, box.height) * sheet.view.scale;
          if (room > Math.min(sheet.size.width, sheet.size.height) - 40) sheet.fit();
          sheet.bring(middleOf(points));
        }
      }
    },
  };
}
