// @ts-check
/**
 * A run of picks towards one thing: what is asked next, when it may end, when it must. Pure.
 *
 * @typedef {import("./kinds.js").Kind} Kind
 * @typedef {number[]} Pick  [x, y] or [x, y, u_px] in photo pixels
 * @typedef {object} PickRun
 * @property {import("./kinds.js").PickGroup} group
 * @property {string} kind
 * @property {Kind} spec
 * @property {readonly Pick[]} picks
 * @property {Record<string, any>} extra carried to the edit that ends the run
 */

import { kindOf } from "./kinds.js";

/** @param {PickRun["group"]} group @param {string} kind @param {Record<string, any>} [extra] @returns {PickRun} */
export function startRun(group, kind, extra = {}) {
  return { group, kind, spec: kindOf(group, kind), picks: [], extra };
}

/** @param {PickRun} run @param {Pick} pick @returns {PickRun} */
export function takePick(run, pick) {
  return isFull(run) ? run : { ...run, picks: [...run.picks, pick] };
}

/** @param {PickRun} run @returns {PickRun} */
export function giveBackPick(run) {
  return run.picks.length === 0 ? run : { ...run, picks: run.picks.slice(0, -1) };
}

/** @param {PickRun} run must end now */
export function isFull(run) {
  return run.picks.length >= run.spec.most;
}

/** @param {PickRun} run may end when told so */
export function mayEnd(run) {
  return run.picks.length >= run.spec.least;
}

/** @param {PickRun} run what is asked next, as words after "Pick" */
export function asked(run) {
  const { asks } = run.spec;
  return asks[Math.min(run.picks.length, asks.length - 1)] ?? "";
}

/** The sentence for the tool in hand. @param {PickRun} run */
export function runSentence(run) {
  const { spec, picks } = run;
  const ask = `Pick ${asked(run)}.`;
  if (run.group === "joints") return `${ask} Done when they are right.`;
  if (spec.most !== Infinity) {
    return spec.most === 1 ? ask : `${ask} ${picks.length} of ${spec.most} picked.`;
  }
  if (!mayEnd(run)) return `${ask} ${picks.length} picked, at least ${spec.least} wanted.`;
  return `${ask} ${picks.length} picked: Enter when done.`;
}
