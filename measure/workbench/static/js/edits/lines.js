// @ts-check
/**
 * Levels and jambs of the elevation as lines that can be moved, made one, and kept apart. Pure.
 *
 * @typedef {{what: "level" | "plumb", at_mm: number, chart_mm: number, measured_mm: number, members: string[], pieces_mm: number[][], owners: string[], moved: boolean, fixed: boolean}} Line
 * @typedef {{to_mm: number} | {onto: string}} Where
 */

import { drawingOf, setDrawing } from "./wishes.js";

/** @typedef {{what: string, of: string[], to_mm?: number | null, onto?: string | null, at_mm?: number | null}} LineWish */

/** What moved by less than this did not move. */
export const LEAST_MOVE_MM = 0.05;

const WORDS = /** @type {Record<string, string>} */ ({ sill: "sill", springing: "springing", head: "head", left: "left jamb", right: "right jamb" });

/** A line goes by the first thing on it. @param {Line} line */
export const keyOf = (line) => line.owners[0];

/** "sill of W1", "corner 3 of the outline". @param {string} member @param {any} face */
export function memberName(member, face) {
  const parts = member.split(".");
  const part = /** @type {string} */ (parts.pop());
  if (member === "datum.level") return "the datum";
  const word = part === "u" || part === "v" ? `corner ${parts.pop()}` : WORDS[part];
  const id = parts.join(".");
  const name = (face?.measures ?? []).find((/** @type {any} */ m) => m.id === id)?.label || id;
  return part === "level" ? name : `${word} of ${name}`;
}

/** A sentence of the program with the names of things in place of their ids. @param {string} text @param {any} face */
export function inWords(text, face) {
  const measures = (face?.measures ?? []).filter((/** @type {any} */ m) => m.label);
  return text.replace(/[\w-]+(@(?:copy|bay|mirror)[\w-]*)?(\.\w+)*/g, (word) => {
    const [, id, made, part] = /** @type {RegExpExecArray} */ (/^([\w-]+?)(?:@([\w-]+))?(?:\.(\w+))?$/.exec(word) ?? [word, ""]);
    if (id === "frame" && part) return `corner ${part} of the frame`;
    const { label: name, kind } = measures.find((/** @type {any} */ m) => m.id === id) ?? {};
    if (!name) return word;
    const whole = made ? `${made.replace(/-?(\d+)$/, " $1")} of ${name}` : name;
    return !part ? whole : /^\d+$/.test(part) ? `${kind === "outline" ? "corner" : "pick"} ${part} of ${whole}` : `${WORDS[part] ?? part} of ${whole}`;
  });
}

/** @param {Line} line @param {any} face */
export function lineName(line, face) {
  const first = memberName(line.owners[0], face);
  const more = new Set(line.owners).size - 1;
  return more ? `${first} and ${more} more` : first;
}

/** @param {readonly Line[]} lines @param {number} at_mm @returns {Line | null} */
function nearest(lines, at_mm) {
  return lines.reduce((/** @type {Line | null} */ best, line) => (best && Math.abs(best.at_mm - at_mm) <= Math.abs(line.at_mm - at_mm) ? best : line), null);
}

/** The other line of that kind that is near, nearest first. @param {readonly Line[]} lines @param {Line} held @param {readonly string[]} members that move @param {number} at_mm @param {number} reach_mm @returns {Line | null} */
export function lineNear(lines, held, members, at_mm, reach_mm) {
  const others = lines.filter((line) => line.what === held.what && line.owners.some((name) => !members.includes(name)) && Math.abs(line.at_mm - at_mm) <= reach_mm);
  return nearest(others, at_mm);
}

/** The next line of that kind, up or to the right with `by` 1. @param {readonly Line[]} lines @param {Line} held @param {number} at_mm @param {1 | -1} by @returns {Line | null} */
export function nextLine(lines, held, at_mm, by) {
  const beyond = lines.filter((line) => line.what === held.what && (line.at_mm - at_mm) * by > LEAST_MOVE_MM);
  return nearest(beyond, at_mm);
}

/** @param {any} doc @param {string} faceId @param {"moved" | "together" | "apart"} list @returns {LineWish[]} */
export const wishesOf = (doc, faceId, list) => drawingOf(doc, faceId)[list] ?? [];

/** All moved lines once these go there; nobody is moved twice. @param {readonly LineWish[]} now @param {"level" | "plumb"} what @param {readonly string[]} members @param {Where | null} where null: as measured again @returns {LineWish[]} */
export function movedWith(now, what, members, where) {
  const left = now.map((wish) => ({ ...wish, of: wish.of.filter((name) => !members.includes(name)) })).filter((wish) => wish.of.length);
  return where ? [...left, { what, of: [...members], ...where }] : left;
}

/** @param {any} doc @param {string} faceId @param {Line} line @param {readonly string[]} members of it that go @param {Where | null} where */
export function moveLine(doc, faceId, line, members, where) {
  const now = wishesOf(doc, faceId, "moved");
  const next = movedWith(now, line.what, members, where);
  return JSON.stringify(next) === JSON.stringify(now) ? doc : setDrawing(doc, faceId, "moved", next);
}

/** Two lines as one, whatever was measured: the program finds where. @param {any} doc @param {string} faceId @param {Line} line @param {Line} other */
export function putTogether(doc, faceId, line, other) {
  const of = [...new Set([...line.members, ...other.members])];
  const apart = wishesOf(doc, faceId, "apart").filter((wish) => !wish.of.every((name) => of.includes(name)));
  const loose = setDrawing(setDrawing(doc, faceId, "apart", apart), faceId, "moved", movedWith(wishesOf(doc, faceId, "moved"), line.what, of, null));
  return setDrawing(loose, faceId, "together", [...wishesOf(doc, faceId, "together").filter((wish) => !(wish.what === line.what && wish.of.every((name) => of.includes(name)))), { what: line.what, of }]);
}

/** One thing never on the line of the others, though they agree. @param {any} doc @param {string} faceId @param {Line} line @param {string} member */
export function keepApart(doc, faceId, line, member) {
  const others = line.members.filter((name) => name !== member);
  const together = wishesOf(doc, faceId, "together").map((wish) => (wish.what === line.what && wish.of.includes(member) && wish.of.some((name) => others.includes(name)) ? { ...wish, of: wish.of.filter((name) => name !== member) } : wish)).filter((wish) => wish.of.length > 1 || wish.at_mm != null);
  const next = setDrawing(doc, faceId, "together", together);
  return setDrawing(next, faceId, "apart", [...wishesOf(doc, faceId, "apart"), ...others.map((other) => ({ what: line.what, of: [member, other] }))]);
}

/** Wishes about lines in words, with what takes each of them back; those that keep one thing apart stand together. @param {any} doc @param {string} faceId @param {any} face @returns {{says: string, without: any}[]} */
export function lineWishes(doc, faceId, face) {
  const names = (/** @type {readonly string[]} */ of) => (of.length > 3 ? `${of.slice(0, 2).map((name) => memberName(name, face)).join(", ")} and ${of.length - 2} more` : of.map((name) => memberName(name, face)).join(", "));
  const lined = (/** @type {LineWish} */ wish) => wish.what === "level" || wish.what === "plumb";
  /** @type {{says: string, without: any}[]} */
  const told = [];
  const without = (/** @type {"moved" | "together" | "apart"} */ list, /** @type {(wish: LineWish) => boolean} */ gone) => setDrawing(doc, faceId, list, wishesOf(doc, faceId, list).filter((wish) => !gone(wish)));
  for (const wish of wishesOf(doc, faceId, "moved")) told.push({ says: `${names(wish.of)}: ${wish.onto ? `put onto the line of ${memberName(wish.onto, face)}` : `moved to ${Math.round(Number(wish.to_mm) * 10) / 10} mm`}`, without: without("moved", (one) => one === wish) });
  for (const wish of wishesOf(doc, faceId, "together").filter(lined)) told.push({ says: `${names(wish.of)}: one line`, without: without("together", (one) => one === wish) });
  for (const first of new Set(wishesOf(doc, faceId, "apart").filter(lined).map((wish) => wish.of[0]))) {
    const mine = wishesOf(doc, faceId, "apart").filter((wish) => lined(wish) && wish.of[0] === first);
    told.push({ says: `${memberName(first, face)}: kept apart from ${names(mine.flatMap((wish) => wish.of.slice(1)))}`, without: without("apart", (one) => mine.includes(one)) });
  }
  return told;
}
