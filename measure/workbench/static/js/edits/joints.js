// @ts-check
/** Bed joints of courses put right by hand: one taken away, one added, all kept as read. Pure. */

import { valueAt, withValue } from "../paths.js";

/** @typedef {import("../paths.js").Path} Path */
/** @typedef {readonly number[]} Pick */

/** A pick this near to a joint means it, in parts of the course that it lies in. */
const MEANS_JOINT = 0.3;

/** Joints as they stand, upwards: the user's own, else as read. @param {any} measure @param {any} result of it @returns {readonly Pick[]} */
export function jointsOf(measure, result) {
  return measure?.joints?.length ? measure.joints : (result?.joints_px ?? []);
}

/** How far a pick lies above each joint, in photo pixels; below it, less than nothing.
 * @param {Pick} pick @param {readonly Pick[]} joints @param {readonly (readonly Pick[])[]} lines level lines along them, as drawn */
function heights(pick, joints, lines) {
  return joints.map((joint, i) => {
    const [from, to] = lines[Math.min(i, lines.length - 1)] ?? [[0, 0], [1, 0]];
    const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
    return ((pick[0] - joint[0]) * dy - (pick[1] - joint[1]) * dx) / Math.hypot(dx, dy);
  });
}

/**
 * The joint that a pick means, by its place; -1 where it lies between joints or beyond them.
 * @param {Pick} pick @param {readonly Pick[]} joints @param {readonly (readonly Pick[])[]} lines @returns {number}
 */
export function jointMeant(pick, joints, lines) {
  const off = heights(pick, joints, lines).map(Math.abs);
  const nearest = off.indexOf(Math.min(...off));
  const beside = [nearest - 1, nearest + 1].filter((i) => i in joints).map((i) => Math.abs(heights(joints[nearest], joints, lines)[i]));
  return off[nearest] <= MEANS_JOINT * Math.min(...beside) ? nearest : -1;
}

/**
 * Take the joint away that a pick means, or add one there.
 * @param {any} doc @param {Path} path of the courses @param {Pick} pick @param {any} result of them
 * @param {readonly (readonly Pick[])[]} lines
 * @returns {{doc: any, name: string}} what was done; the same document where too few joints would be left
 */
export function turnJoint(doc, path, pick, result, lines) {
  const joints = jointsOf(valueAt(doc, path), result);
  if (joints.length < 2) return { doc, name: "" };
  const meant = jointMeant(pick, joints, lines);
  if (meant >= 0) return joints.length === 2 ? { doc, name: "" } : { doc: keepJoints(doc, path, joints.filter((_, i) => i !== meant)), name: "take joint away" };
  const under = heights(pick, joints, lines).filter((above) => above > 0).length;
  return { doc: keepJoints(doc, path, [...joints.slice(0, under), [...pick], ...joints.slice(under)]), name: "add joint" };
}

/** @param {any} doc @param {Path} path @param {readonly Pick[]} joints from one end to the other; none: read from the photo again */
export function keepJoints(doc, path, joints) {
  const courses = valueAt(doc, path);
  return courses ? withValue(doc, path, { ...courses, count: null, joints }) : doc;
}

/** @param {any} doc @param {Path} path @param {number | null} count null: read from the photo */
export function setCount(doc, path, count) {
  const courses = valueAt(doc, path);
  return !courses || (courses.count === count && !courses.joints?.length) ? doc : withValue(doc, path, { ...courses, count, joints: [] });
}
