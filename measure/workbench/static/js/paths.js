// @ts-check
/**
 * Addresses inside the survey document: `["faces", "@front", "measures", "@w1", "at", 2]`.
 *
 * A number is a place in a list; `"@id"` is the part of a list that carries that id; any other
 * string is a key. As text it reads `faces/@front/measures/@w1/at/#2` (an id holds no slash).
 * Reading and writing share everything that did not change, so a document
 * can be compared by identity. Pure.
 *
 * @typedef {string | number} Key
 * @typedef {readonly Key[]} Path
 * @typedef {any} Doc
 */

/** @param {any} holder @param {Key} key @returns {Key} */
function placeOf(holder, key) {
  if (Array.isArray(holder) && typeof key === "string" && key.startsWith("@")) {
    return holder.findIndex((part) => part?.id === key.slice(1));
  }
  return key;
}

/** @param {Doc} doc @param {Path} path @returns {any} undefined where there is nothing */
export function valueAt(doc, path) {
  let value = doc;
  for (const key of path) {
    if (value == null) return undefined;
    value = value[placeOf(value, key)];
  }
  return value;
}

/**
 * @param {Doc} doc @param {Path} path @param {any} value
 * @returns {Doc} the same document if the value already stands there, or the path leads nowhere
 */
export function withValue(doc, path, value) {
  if (path.length === 0) return value;
  const place = placeOf(doc, path[0]);
  if (doc == null || place === -1) return doc;
  const before = doc[place];
  const after = withValue(before, path.slice(1), value);
  if (sameValue(before, after)) return doc;
  const copy = Array.isArray(doc) ? [...doc] : { ...doc };
  /** @type {any} */ (copy)[place] = after;
  return copy;
}

/** @param {Doc} doc @param {Path} path to a list @param {any} item @returns {Doc} */
export function withItem(doc, path, item) {
  return withValue(doc, path, [...(valueAt(doc, path) ?? []), item]);
}

/** Take a part out of a list, or set a plain key to null.
 * @param {Doc} doc @param {Path} path @returns {Doc} */
export function without(doc, path) {
  const holderPath = path.slice(0, -1);
  const holder = valueAt(doc, holderPath);
  if (!Array.isArray(holder)) return holder == null ? doc : withValue(doc, path, null);
  const place = placeOf(holder, path[path.length - 1]);
  if (typeof place !== "number" || place < 0 || place >= holder.length) return doc;
  return withValue(doc, holderPath, holder.filter((_, i) => i !== place));
}

/** Two numbers, texts or picks that say the same. @param {any} a @param {any} b */
export function sameValue(a, b) {
  if (a === b) return true;
  if (!Array.isArray(a) || !Array.isArray(b) || a.length !== b.length) return false;
  return a.every((item, i) => item === b[i]);
}

/** @param {Path} path */
export function pathText(path) {
  return path.map((key) => (typeof key === "number" ? `#${key}` : key)).join("/");
}

/** @param {string} text @returns {Path} */
export function pathFromText(text) {
  if (text === "") return [];
  return text.split("/").map((key) => (key[0] === "#" ? Number(key.slice(1)) : key));
}

/** @param {Path} path @param {Path} start */
export function startsWith(path, start) {
  return start.length <= path.length && start.every((key, i) => key === path[i]);
}
