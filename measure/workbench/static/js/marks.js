// @ts-check
/**
 * What is drawn over the two sheets, from the document and the server's answer. Pure.
 *
 * @typedef {import("./paths.js").Path} Path
 * @typedef {object} Mark
 * @property {string} key path of the thing as text
 * @property {string} group frame, guides, references, measures, surface, datum
 * @property {string} face that it is on
 * @property {string} kind
 * @property {string} name said aloud and on hover
 * @property {{path: string, point: readonly number[], u_px: number | null}[]} picks in sheet coordinates
 * @property {readonly (readonly number[])[]} line drawn through, in sheet coordinates
 * @property {boolean} closed
 * @property {boolean} suspect
 */

import { DATUM, EDGES, FRAME, GUIDES, MEASURES, REFERENCES, nameOfTie } from "./kinds.js";
import { cornersInOrder } from "./geometry.js";
import { pathText, valueAt } from "./paths.js";
import { doubtsByPath } from "./suspects.js";

/** Lines that name the face they join. */
const JOINS = ["hinge", "also_meets", "eaves"];

/** Everything on a face that carries picks. @param {any} face @returns {{path: Path, group: string, kind: string, name: string, fields: string[], closed: boolean}[]} */
export function thingsOf(face) {
  const start = /** @type {Path} */ (["faces", `@${face.id}`]);
  /** @type {ReturnType<typeof thingsOf>} */
  const things = [];
  if (face.frame) things.push({ path: start, group: "frame", kind: "", name: FRAME.name, fields: ["frame"], closed: true });
  for (const edge of ["left_edge", "right_edge", "meets_wall"]) {
    if (face.surface?.[edge]) things.push({ path: [...start, "surface"], group: "surface", kind: edge, name: EDGES[edge].name, fields: [edge], closed: false });
  }
  for (const edge of JOINS) {
    if (face.surface?.[edge]) things.push({ path: [...start, "surface", edge], group: "surface", kind: edge, name: EDGES[edge].name, fields: ["at"], closed: false });
  }
  (face.surface?.returns ?? []).forEach((/** @type {any} */ _, /** @type {number} */ i) => {
    things.push({ path: [...start, "surface", "returns"], group: "surface", kind: "returns", name: EDGES.returns.name, fields: [/** @type {any} */ (i)], closed: false });
  });
  (face.guides ?? []).forEach((/** @type {any} */ guide, /** @type {number} */ i) => {
    if (guide.found) return; // found guides are kept or dropped as one, and shown with the checks
    things.push({ path: [...start, "guides", i], group: "guides", kind: guide.kind, name: GUIDES[guide.kind].name, fields: ["at"], closed: GUIDES[guide.kind].closed });
  });
  (face.references ?? []).forEach((/** @type {any} */ ref, /** @type {number} */ i) => {
    things.push({ path: [...start, "references", i], group: "references", kind: ref.kind, name: ref.label || REFERENCES[ref.kind].name, fields: ["at"], closed: false });
  });
  (face.measures ?? []).forEach((/** @type {any} */ m) => {
    things.push({ path: [...start, "measures", `@${m.id}`], group: "measures", kind: m.kind, name: m.label || m.id, fields: ["at", "head_at"], closed: MEASURES[m.kind].closed });
  });
  return things;
}

/** Ends of ties that are picked on a face. @param {any} doc @param {any} face @returns {ReturnType<typeof thingsOf>} */
function tieEnds(doc, face) {
  return (doc.ties ?? []).flatMap((/** @type {any} */ tie) => tie.at.flatMap((/** @type {any} */ end, /** @type {number} */ i) => (
    end.face === face.id ? [{ path: ["ties", `@${tie.id}`, "at", i], group: "tie", kind: tie.kind, name: nameOfTie(tie), fields: ["at"], closed: false }] : [])));
}

/**
 * Marks of a face on one sheet.
 * @param {any} doc @param {any} face
 * @param {{sheet: "photo" | "wall", answer: any}} on
 * @returns {Mark[]}
 */
export function marksOf(doc, face, { sheet, answer }) {
  if (!face) return [];
  const known = answer?.page?.faces?.[face.id] ?? {};
  const suspects = doubtsByPath(answer);
  /** @type {Mark[]} */
  const marks = [];
  const place = (/** @type {string} */ path, /** @type {readonly number[]} */ pick) => {
    if (sheet === "photo") return [pick[0], pick[1]];
    const mm = known.picks_mm?.[path];
    return mm ? [mm[0], -mm[1]] : null;
  };
  const things = thingsOf(face);
  if (face.datum) things.push({ path: ["faces", `@${face.id}`], group: "datum", kind: "", name: DATUM.name, fields: ["datum"], closed: false });
  things.push(...tieEnds(doc, face));
  for (const thing of things) {
    /** @type {Mark["picks"]} */
    const picks = [];
    /** @type {(readonly number[])[]} */
    let line = [];
    let missing = false;
    for (const field of thing.fields) {
      const base = [...thing.path, field];
      const found = readField(doc, face, thing, field);
      const single = thing.group === "datum" || thing.group === "tie";
      (single ? [found] : found).forEach((/** @type {number[]} */ pick, /** @type {number} */ i) => {
        const path = pathText(single ? base : [...base, i]);
        const point = place(path, pick);
        if (!point) { missing = true; return; }
        picks.push({ path, point, u_px: pick[2] ?? null });
        if (field !== "head_at") line.push(point);
      });
    }
    if (missing && picks.length === 0) continue;
    const key = pathText(thing.group === "frame" || thing.group === "datum" || (thing.group === "surface" && !JOINS.includes(thing.kind))
      ? [...thing.path, thing.fields[0]] : thing.path);
    if (thing.closed && line.length === 4 && thing.kind !== "outline") line = cornersInOrder(line);
    const curve = known.curves?.[key]?.[sheet === "photo" ? "px" : "mm"];
    if (curve && curve.length > 1) line = sheet === "photo" ? curve : curve.map((/** @type {number[]} */ p) => [p[0], -p[1]]);
    marks.push({
      key, face: face.id, group: thing.group, kind: thing.kind, name: thing.name, picks, line, closed: thing.closed,
      suspect: suspects.has(key) || picks.some((pick) => suspects.has(pick.path)),
    });
  }
  return marks;
}

/** @param {any} doc @param {any} face @param {any} thing @param {string} field @returns {any} */
function readField(doc, face, thing, field) {
  if (thing.group === "frame") return face.frame;
  if (thing.group === "datum") return face.datum;
  if (thing.group === "tie") return valueAt(doc, [...thing.path, field]);
  if (thing.kind === "returns") return face.surface.returns[field];
  if (thing.group === "surface") return JOINS.includes(thing.kind) ? face.surface[thing.kind].at : face.surface[thing.kind];
  const last = thing.path[thing.path.length - 1];
  const list = face[thing.group];
  const item = typeof last === "number" ? list[last] : list.find((/** @type {any} */ m) => `@${m.id}` === last);
  return item?.[field] ?? [];
}
