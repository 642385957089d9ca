// @ts-check
/**
 * The job in trade order, as lines that fill in as they become true. Pure.
 *
 * @typedef {"todo" | "next" | "done" | "wrong"} LineState
 * @typedef {{id: string, name: string, state: LineState, says: string, why: string}} JobLine
 */

import { counted, plain } from "./format.js";
import { valueAt } from "./paths.js";

/** Why each line matters: shown while it is still open. */
const WHY = {
  photo: "Everything is read from this photo.",
  faces: "A face is one surface of the building: a wall, a wing, a round tower. Each has its own frame.",
  frame: "Four corners of something upright and square tell the program how the wall stands to the camera.",
  known: "Until one size is known, nothing on the wall has a size.",
  checks: "A second rectangle, a plumb line or a second known size lets the program find a slipped pick.",
  measures: "Sizes are read off the wall by picking them.",
  drawing: "The elevation is drawn from the openings and the outline that you measured.",
  sheets: "Files to print and cut from, each true to scale.",
};

/** @param {any} photo of the results @param {any} picked of the document */
function photoLine(photo, picked) {
  if (!picked) return { state: "todo", says: "no photo yet" };
  if (photo?.problem) return { state: "wrong", says: photo.problem.message };
  const size = photo?.width_px ? `${plain(photo.width_px, 0)} × ${plain(photo.height_px, 0)}` : picked.file;
  const lens = picked.focal_35mm ?? photo?.focal_35mm;
  return { state: "done", says: lens ? `${size}, ${plain(lens, 0)} mm lens` : `${size}, lens not known` };
}

/** @param {any} face */
export function tiedBy(face) {
  return Boolean(face?.surface?.hinge || face?.surface?.parallel_to || face?.surface?.eaves) || (face?.surface?.kind === "round" && (face.surface.radius_mm || face.surface.axis_set_back_mm));
}

/** Whether something is measured that a drawing shows. @param {any} face */
const drawable = (face) => (face?.measures ?? []).some((/** @type {any} */ m) => m.kind === "opening" || m.kind === "outline" || m.kind === "level");

/**
 * What a face lacks before it can be put on a sheet, and the line of the job that gives it.
 * @param {any} face of the document @param {any} told of the answer for that face @param {"picture" | "table" | "drawing"} what is to be written
 * @returns {{says: string, open: string} | null} null: nothing
 */
export function lackOf(face, told, what) {
  if (!told?.solved) return { says: "The wall is not placed yet: pick its frame.", open: "frame" };
  if (!told.sized) return { says: "Nothing has a size yet: give it one known size.", open: "known" };
  if (what === "table" && !face.measures.length) return { says: "Nothing is measured on this face yet: measure an opening.", open: "measures" };
  if (what === "drawing" && !drawable(face)) return { says: "Nothing is measured yet that can be drawn: measure an opening or the outline.", open: "measures" };
  return null;
}

/**
 * @param {any} doc @param {string} faceId @param {any} answer of the server, or null
 * @param {{exports: number}} extra
 * @returns {JobLine[]}
 */
export function jobLines(doc, faceId, answer, extra) {
  const face = valueAt(doc, ["faces", `@${faceId}`]);
  const photoId = face?.photo ?? doc.photos[0]?.id;
  const faceAnswer = answer?.page?.faces?.[faceId];
  const suspects = (answer?.page?.suspects ?? []).length + new Set(Object.values(answer?.page?.ties ?? {}).flat()).size;
  const solution = answer?.results?.photos?.[photoId];
  const references = doc.faces.reduce((/** @type {number} */ n, /** @type {any} */ f) => n + (f.references?.length ?? 0), 0);
  const measures = face?.measures?.length ?? 0;
  const draws = drawable(face);

  /** @type {Record<string, {state: string, says: string}>} */
  const lines = {
    photo: photoLine(answer?.page?.photos?.[photoId], doc.photos.find((/** @type {any} */ p) => p.id === photoId)),
    faces: { state: doc.faces.length ? "done" : "todo", says: doc.faces.map((/** @type {any} */ f) => f.label || f.id).join(", ") || "none yet" },
    frame: frameLine(face, faceAnswer),
    known: knownLine(face, references, Boolean(faceAnswer?.sized)),
    checks: checksLine(suspects, solution),
    measures: { state: measures ? "done" : "todo", says: measures ? counted(measures, "measure") : "none yet" },
    drawing: { state: draws ? "done" : "todo", says: draws ? "ready to look at" : "wants an opening or an outline" },
    sheets: { state: extra.exports ? "done" : "todo", says: extra.exports ? counted(extra.exports, "file") : "none yet" },
  };
  const names = { photo: "Photo", faces: "Faces", frame: "Frame", known: "Known size", checks: "Checks", measures: "Measures", drawing: "Drawing", sheets: "Sheets" };
  let nextGiven = false;
  return Object.entries(lines).map(([id, line]) => {
    const key = /** @type {keyof typeof WHY} */ (id);
    const isNext = line.state === "todo" && !nextGiven;
    if (isNext) nextGiven = true;
    const state = /** @type {LineState} */ (isNext ? "next" : line.state);
    return { id, name: names[key], state, says: line.says, why: WHY[key] };
  });
}

/** @param {any} face @param {any} faceAnswer */
function frameLine(face, faceAnswer) {
  if (face?.surface?.kind === "round") {
    const edges = ["left_edge", "right_edge", "meets_wall"].filter((edge) => face.surface[edge]).length;
    if (faceAnswer?.problem) return { state: "wrong", says: faceAnswer.problem.message };
    return { state: edges >= 2 ? "done" : "todo", says: edges ? counted(edges, "outline") : "pick the tower's outlines" };
  }
  if (face?.surface?.kind === "roof" && !face.frame && faceAnswer?.solved) return { state: "done", says: "by its eaves and pitch" };
  if (!face?.frame) return { state: "todo", says: "four corners of something square" };
  if (faceAnswer?.problem && !faceAnswer.solved) return { state: "wrong", says: faceAnswer.problem.message };
  return { state: "done", says: "four corners picked" };
}

/** @param {any} face @param {number} inAll @param {boolean} sized */
function knownLine(face, inAll, sized) {
  const own = face?.references ?? [];
  if (own.length) {
    const first = own[0];
    const label = first.label || (first.kind === "courses" ? counted(first.count, "course") : `${plain(first.length_mm, 0)} mm`);
    return { state: "done", says: own.length > 1 ? `${label} and ${own.length - 1} more` : label };
  }
  if (tiedBy(face)) return { state: "done", says: "carried over from its neighbour" };
  if (sized) return { state: "done", says: "carried over from another face" };
  return { state: "todo", says: inAll ? "none on this face" : "nothing to scale by yet" };
}

/** @param {number} suspects @param {any} solution of the photo */
function checksLine(suspects, solution) {
  const checks = solution?.redundancy;
  if (suspects) return { state: "wrong", says: `${counted(suspects, "contradiction")} to look at` };
  if (checks === undefined) return { state: "todo", says: "nothing to check yet" };
  if (checks <= 0) return { state: "todo", says: "nothing to check by yet" };
  if (solution.misfit > 1) return { state: "wrong", says: `picks fit ${plain(solution.misfit, 1)} times worse than their ±` };
  return { state: "done", says: `${counted(checks, "check")} ${checks === 1 ? "agrees" : "agree"}` };
}
