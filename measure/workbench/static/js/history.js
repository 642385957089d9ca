// @ts-check
/**
 * Undo and redo as a stack of whole documents, compared by identity.
 *
 * An edit that returned the document it was given leaves no step. Steps that carry the same
 * `mergeKey` as the step before them become one (a drag, a run of nudges). Pure: every function
 * returns a new history.
 *
 * @template T
 * @typedef {{readonly doc: T, readonly name: string, readonly mergeKey: string | null}} Step
 */

/**
 * @template T
 * @typedef {object} History
 * @property {readonly Step<T>[]} past steps up to and with the present one
 * @property {readonly Step<T>[]} future steps undone, nearest first
 */

/** @template T @param {T} doc @returns {History<T>} */
export function makeHistory(doc) {
  return { past: [{ doc, name: "", mergeKey: null }], future: [] };
}

/** @template T @param {History<T>} history @returns {T} */
export function present(history) {
  return history.past[history.past.length - 1].doc;
}

/**
 * @template T
 * @param {History<T>} history @param {T} doc @param {string} name in the user's words: "move corner"
 * @param {string | null} [mergeKey]
 * @returns {History<T>}
 */
export function record(history, doc, name, mergeKey = null) {
  if (doc === present(history)) return history;
  const step = { doc, name, mergeKey };
  const last = history.past[history.past.length - 1];
  const merges = mergeKey !== null && last.mergeKey === mergeKey && history.past.length > 1;
  const kept = merges ? history.past.slice(0, -1) : history.past;
  return { past: [...kept, step], future: [] };
}

/** End a run of merging: the next step stands by itself.
 * @template T @param {History<T>} history @returns {History<T>} */
export function settle(history) {
  const last = history.past[history.past.length - 1];
  if (last.mergeKey === null) return history;
  return { past: [...history.past.slice(0, -1), { ...last, mergeKey: null }], future: history.future };
}

/** @template T @param {History<T>} history */
export function canUndo(history) {
  return history.past.length > 1;
}

/** @template T @param {History<T>} history */
export function canRedo(history) {
  return history.future.length > 0;
}

/** What undo will take back. @template T @param {History<T>} history */
export function undoName(history) {
  return canUndo(history) ? history.past[history.past.length - 1].name : "";
}

/** @template T @param {History<T>} history */
export function redoName(history) {
  return canRedo(history) ? history.future[0].name : "";
}

/** @template T @param {History<T>} history @returns {History<T>} */
export function undo(history) {
  if (!canUndo(history)) return history;
  const settled = settle(history);
  const step = settled.past[settled.past.length - 1];
  return { past: settled.past.slice(0, -1), future: [step, ...settled.future] };
}

/** @template T @param {History<T>} history @returns {History<T>} */
export function redo(history) {
  if (!canRedo(history)) return history;
  const [step, ...rest] = history.future;
  return { past: [...history.past, step], future: rest };
}

/**
 * Throw away the steps made since a mark (the number of past steps), as Escape does in a drag.
 * @template T @param {History<T>} history @param {number} mark @returns {History<T>}
 */
export function backTo(history, mark) {
  if (mark >= history.past.length || mark < 1) return history;
  return { past: history.past.slice(0, mark), future: history.future };
}
