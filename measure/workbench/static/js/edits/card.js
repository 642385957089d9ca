// @ts-check
/** Edits of how the survey is cut from card. Pure. */

/** @typedef {"carcass" | "overlay" | "skin" | "strip" | "former" | "film"} SheetUse */

/** Layers, in the order of the wall from inside out, and what each is for. */
export const LAYERS = /** @type {const} */ ([
  ["carcass", "Carcass", "The wall itself.", false],
  ["overlay", "Overlay", "A second layer on the carcass: bands, sunk panels.", true],
  ["skin", "Skin", "The printed face, stuck on last.", true],
  ["strip", "Strips", "Reveals, sills and courses.", false],
  ["former", "Formers", "Discs and rings inside a tower.", false],
  ["film", "Film", "Clear film for windows.", true],
]);

export const CORNERS = {
  wrapped: "wrapped: one wall folds round", butt: "butt: one wall ends at the other", mitred: "mitred: both bevelled",
};

/** What stands where nothing was chosen: the same as the program's own. */
export const PLAIN = { carcass: "folding-carton", overlay: "thin-card", skin: "label-paper", strip: "office-paper", former: "greyboard-1", film: "clear-film", corner: "wrapped", tabs: false, reveal_mm: 100, paper: "A4", print_skins: true, faces: [], own_sheets: [], printed_bars: null, pinned: [], left_out: [] };

/** @param {any} doc @returns {any} every wish, chosen or plain */
export function cardOf(doc) {
  return { ...PLAIN, ...(doc?.card ?? {}) };
}

/** @param {any} doc @param {string} field @param {any} value */
export function setCard(doc, field, value) {
  if (cardOf(doc)[field] === value) return doc;
  return { ...doc, card: { ...(doc.card ?? {}), [field]: value } };
}

/** Cut a face, or leave it out. With every face chosen the list is empty again, which means all.
 * @param {any} doc @param {string} id @param {boolean} wanted @param {readonly string[]} all that can be cut */
export function cutFace(doc, id, wanted, all) {
  const now = cardOf(doc).faces.length ? cardOf(doc).faces : all;
  const next = wanted ? all.filter((one) => one === id || now.includes(one)) : now.filter((/** @type {string} */ one) => one !== id);
  return next.length ? setCard(doc, "faces", next) : doc;
}

/** A sheet of the user's own, measured as a stack. @param {any} doc @param {{name: string, stack_mm: number, sheets: number, use: SheetUse}} sheet */
export function addOwnSheet(doc, sheet) {
  const own = cardOf(doc).own_sheets;
  const stem = sheet.name.toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-|-$/g, "").slice(0, 40) || "sheet";
  const taken = own.map((/** @type {any} */ one) => one.key);
  let key = `own-${stem}`;
  for (let n = 2; taken.includes(key); n += 1) key = `own-${stem}-${n}`;
  const next = setCard(doc, "own_sheets", [...own, { key, ...sheet }]);
  return setCard(next, sheet.use, key);
}
