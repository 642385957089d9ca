// @ts-check
/** In what state each face is, in a word and a sign. Pure. */

/**
 * @param {any} face of the document @param {any} told of the answer for that face @param {any} trust
 * @returns {{state: "todo" | "next" | "done" | "wrong", says: string}}
 */
export function faceState(face, told, trust) {
  if (!isBegun(face)) return { state: "todo", says: face.surface?.kind === "round" ? "no outline yet" : "no frame yet" };
  if (told?.problem && !told.solved) return { state: "wrong", says: told.problem.message };
  if (!told?.solved) return { state: "next", says: "being worked out" };
  if (!told.sized) return { state: "next", says: "true shape, no size yet" };
  if (trust?.state === "doubtful") return { state: "wrong", says: "something to look at" };
  return { state: "done", says: trust?.state === "checked" ? "sized and checked" : "sized" };
}

/** @param {any} face */
export function isBegun(face) {
  const { surface } = face;
  if (surface?.kind === "roof") return true;
  if (surface?.kind === "round") return Boolean(surface.left_edge || surface.right_edge || surface.meets_wall);
  return Boolean(face.frame || surface?.hinge || (face.guides ?? []).length > 1);
}

/** What kind of face it is, in the trade's words. @param {any} face @param {(id: string) => string} nameOf another face */
export function faceKind(face, nameOf) {
  const { surface } = face;
  if (surface?.kind === "round") return surface.beside ? `round tower beside ${nameOf(surface.beside)}` : "round tower";
  if (surface?.kind === "roof") return `roof slope above ${nameOf(surface.eaves.face)}`;
  if (surface?.parallel_to) return `wall parallel to ${nameOf(surface.parallel_to)}`;
  if (surface?.hinge) return `wing hinged on ${nameOf(surface.hinge.face)}`;
  return face.same_as ? `the same wall as ${nameOf(face.same_as)}` : "wall";
}
