// @ts-check
/**
 * The kinds of face: what each is for, what it leans on, and which lines are picked for it. Pure data.
 *
 * @typedef {"wall" | "wing" | "parallel" | "round" | "roof"} FaceKind
 */

/** @type {Record<FaceKind, {name: string, stem: string, label: string, hover: string, first: string, leans: boolean}>} */
export const FACE_KINDS = {
  wall: { name: "Wall", stem: "wall", label: "Wall", first: "", leans: false, hover: "A flat wall seen in the photo, with a frame and a known size of its own." },
  wing: { name: "Wing at an angle", stem: "wing", label: "Wing", first: "hinge", leans: true, hover: "A second flat wall that shares a plumb corner with the first. It needs no known size of its own." },
  parallel: { name: "Wall further back", stem: "back", label: "Wall behind", first: "", leans: true, hover: "A wall parallel to another, behind or before it: a recess, a bay, a porch front." },
  round: { name: "Round tower", stem: "tower", label: "Tower", first: "", leans: false, hover: "A round tower standing plumb: its outlines, and one thing that fixes its size." },
  roof: { name: "Roof slope", stem: "roof", label: "Roof", first: "eaves", leans: true, hover: "A roof slope rising from level eaves above a wall: verges, pitch and ridge." },
};

/** @param {any} face @returns {FaceKind} */
export function kindOfFace(face) {
  const { surface } = face;
  if (surface?.kind === "round" || surface?.kind === "roof") return surface.kind;
  if (surface?.hinge) return "wing";
  return surface?.parallel_to ? "parallel" : "wall";
}

/** Lines picked on the surface itself, for each kind. @type {Record<FaceKind, string[]>} */
export const LINES_OF = {
  wall: ["hinge"], wing: ["hinge"], parallel: ["returns"], round: ["left_edge", "right_edge", "meets_wall", "also_meets"], roof: ["eaves"],
};

/** A wall of any kind: neither tower nor roof slope. @param {any} face */
export const isFlat = (face) => face.surface?.kind !== "round" && face.surface?.kind !== "roof";

/** What a face is called. @param {any} doc @param {string} id @returns {string} */
export const faceName = (doc, id) => doc.faces.find((/** @type {any} */ f) => f.id === id)?.label || id;

/** Faces that another may lean on: flat, in the same photo, not itself. @param {any} doc @param {string} photo @param {string} [not] */
export function wallsOf(doc, photo, not) {
  return doc.faces.filter((/** @type {any} */ f) => f.photo === photo && f.id !== not && isFlat(f));
}

/** The face that another leans on, if any. @param {any} face @returns {string | null} */
export function leansOn(face) {
  const s = face.surface;
  return s?.hinge?.face ?? s?.parallel_to ?? s?.eaves?.face ?? s?.beside ?? null;
}
