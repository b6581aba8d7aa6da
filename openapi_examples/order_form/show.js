// Where each problem belongs, by its JSON Pointer alone, and how it is shown there.
import { fieldsOf } from "./order.js";

const GRAVITY = { reject: 0, review: 1, note: 2 };

/** The field at the pointer, or else the nearest group of fields round it. */
export function placeOf(form, pointer) {
  const fields = fieldsOf(form);
  if (fields.has(pointer)) return fields.get(pointer);
  for (let at = pointer; at !== ""; at = at.slice(0, at.lastIndexOf("/"))) {
    const group = form.querySelector(`fieldset[data-pointer="${CSS.escape(at)}"]`);
    if (group && !group.closest("[hidden]")) return group;
  }
  return form.querySelector('fieldset[data-pointer=""]');
}

export function nameOf(place) {
  if (place.tagName === "FIELDSET") return place.querySelector("legend").textContent;
  const label = document.querySelector(`label[for="${place.id}"]`).textContent;
  const eye = place.closest("fieldset.eye, #heights");
  return eye ? `${eye.querySelector("legend").textContent}, ${label}` : label;
}

export function clear(form) {
  for (const shown of form.querySelectorAll(".said")) shown.remove();
  for (const told of form.querySelectorAll(".told")) told.classList.remove("told");
  for (const marked of form.querySelectorAll("[aria-invalid]")) marked.removeAttribute("aria-invalid");
  for (const described of form.querySelectorAll("[data-described]")) {
    setOrRemove(described, "aria-describedby", described.dataset.described);
    delete described.dataset.described;
  }
}

/** Show problems beside their fields; those that say the same at the same place are said once. Gravest first. */
export function placed(form, problems, words) {
  const byWords = new Map();
  for (const problem of problems) {
    const place = placeOf(form, problem.pointer);
    const key = `${place.id} ${problem.text}`;
    const known = byWords.get(key);
    if (known) known.remedies = strictest([...known.remedies, ...problem.remedies]);
    else byWords.set(key, { ...problem, place });
  }
  const shown = [...byWords.values()].sort((one, other) => GRAVITY[one.severity] - GRAVITY[other.severity]);
  shown.forEach((problem, number) => attach(form, problem, `problem-${number}`, words));
  return shown;
}

function attach(form, problem, id, words) {
  const { place, severity } = problem;
  const note = document.createElement("p");
  note.id = id;
  note.className = `problem ${severity}`;
  note.append(Object.assign(document.createElement("b"), { textContent: words[severity] }), problem.text);
  const hints = problem.remedies.map((remedy) => hintOf(form, remedy, place, words)).filter(Boolean);
  problem.hint = hints.length > 0 ? words.helps(hints.join("; ")) : "";
  if (problem.hint) {
    note.append(Object.assign(document.createElement("span"), { className: "remedy", textContent: problem.hint }));
  }
  said(place).append(note);
  place.dataset.described ??= place.getAttribute("aria-describedby") ?? "";
  place.setAttribute("aria-describedby", `${place.getAttribute("aria-describedby") ?? ""} ${id}`.trim());
  if (severity === "reject" && place.tagName !== "FIELDSET") place.setAttribute("aria-invalid", "true");
}

/** What would help, where the customer has a field for it. */
function hintOf(form, remedy, place, words) {
  const field = fieldsOf(form).get(remedy.pointer);
  if (!field) return "";
  let wanted = "";
  if (remedy.one_of) {
    const offered = field.tagName === "SELECT" ? [...field.options] : [];
    const names = remedy.one_of.map((value) => offered.find((option) => option.value === String(value))?.textContent);
    wanted = names.filter(Boolean).join(", ");
  } else {
    // To a tenth, towards what surely helps.
    const least = remedy.at_least === null ? null : Math.ceil(remedy.at_least * 10 - 1e-6) / 10;
    const most = remedy.at_most === null ? null : Math.floor(remedy.at_most * 10 + 1e-6) / 10;
    if (least !== null && most !== null) wanted = least === most ? `${least}` : words.between(least, most);
    else if (least !== null) wanted = words.least(least);
    else if (most !== null) wanted = words.most(most);
  }
  if (wanted === "" || field === place) return wanted;
  return `${nameOf(field)}: ${wanted}`;
}

/** Of two eyes that ask the same of one field, what serves both. */
function strictest(remedies) {
  const byPointer = new Map();
  for (const remedy of remedies) {
    const known = byPointer.get(remedy.pointer);
    if (!known) byPointer.set(remedy.pointer, { ...remedy });
    else {
      if (remedy.at_least !== null) known.at_least = Math.max(remedy.at_least, known.at_least ?? -Infinity);
      if (remedy.at_most !== null) known.at_most = Math.min(remedy.at_most, known.at_most ?? Infinity);
      if (remedy.one_of && known.one_of) known.one_of = known.one_of.filter((value) => remedy.one_of.includes(value));
    }
  }
  return [...byPointer.values()];
}

/** Where it is said: in the field's own box, or at the end of the group. */
function said(place) {
  const box = place.tagName === "FIELDSET" ? place : place.closest(".field");
  const there = box.querySelector(":scope > .said");
  if (there) return there;
  if (box !== place) box.classList.add("told");
  const made = Object.assign(document.createElement("div"), { className: "said" });
  box.append(made);
  return made;
}

function setOrRemove(element, name, value) {
  if (value) element.setAttribute(name, value);
  else element.removeAttribute(name);
}
