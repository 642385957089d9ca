// @ts-check
/**
 * What is wrong with what was typed, said at its field. It stands there, with the text as typed, until the
 * field is typed anew, though the panel round it is drawn again meanwhile. Effect.
 */

import { h, textField } from "./dom.js";
import { wrongSign } from "./icons.js";

/** By the id of the field. @type {Map<string, {text: string, sentence: string}>} */
const standing = new Map();

/** A text field whose refusals stand under it, where `refusalOf` its id is put. @param {import("./dom.js").Props} props with `id` and `ondone(text)` */
export function askedField({ ondone, ...props }) {
  const { id } = props;
  const field = textField({ ...props, value: standing.get(id)?.text ?? props.value, "aria-describedby": `${id}-refused`, ondone(/** @type {string} */ text) { accept(id); ondone(text); } });
  if (standing.has(id)) field.setAttribute("aria-invalid", "true");
  field.addEventListener("keydown", (event) => { if (event.key === "Escape") { accept(id); field.value = String(props.value ?? ""); } });
  return field;
}

/** The place under a field where its refusal stands. @param {string} id of the field */
export function refusalOf(id) {
  const stands = standing.get(id);
  return h("p", { class: "wrong", id: `${id}-refused`, hidden: !stands }, stands ? [wrongSign(), stands.sentence] : "");
}

/** @param {string} id of the field @param {string} text as typed @param {string} sentence what to do */
export function refuse(id, text, sentence) {
  standing.set(id, { text, sentence });
  const says = document.getElementById(`${id}-refused`);
  if (!says) return;
  says.setAttribute("role", "alert");
  says.replaceChildren(wrongSign(), sentence);
  says.hidden = false;
  const field = document.getElementById(id);
  field?.setAttribute("aria-invalid", "true");
  if (document.activeElement === document.body) field?.focus();
}

/** @param {string} id of the field */
export function accept(id) {
  if (!standing.delete(id)) return;
  document.getElementById(id)?.removeAttribute("aria-invalid");
  const says = document.getElementById(`${id}-refused`);
  if (says) says.hidden = true;
}

/** Other fields are looked at now. */
export const forgetRefusals = () => standing.clear();
