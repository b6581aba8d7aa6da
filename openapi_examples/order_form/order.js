// From what stands in the fields to an order. Nothing is judged here: what cannot be taken for a number without guessing is
// sent as the text it is, and the service says so at its place.

// A power carries its sign: 2.25 could be a lost minus. Two figures carry a point: 12 could be 1.2. Nothing needs no sign.
const POWER = /^(?:[+-]\d(?:[.]\d{1,3})?|[+-]\d\d[.]\d{1,3}|0+(?:[.]0+)?)$/;
const AMOUNT = /^[+]?\d{1,2}(?:[.]\d{1,3})?$/;
const NUMBER = /^\d{1,4}(?:[.]\d{1,3})?$/;
const KINDS = { power: POWER, amount: AMOUNT, number: NUMBER };

export function valueOf(text, kind) {
  const trimmed = text.trim();
  if (kind === "text") return trimmed;
  if (kind === "power" && /^(?:plano|pl)$/i.test(trimmed)) return 0;
  const plain = trimmed.replace(/[−–]/, "-").replace(",", ".");
  return KINDS[kind].test(plain) ? Number(plain) : trimmed;
}

/** The fields that are shown, by their JSON Pointer into the order. */
export function fieldsOf(form) {
  const found = [...form.querySelectorAll("[data-kind]")].filter((field) => !field.closest("[hidden]"));
  return new Map(found.map((field) => [field.dataset.pointer, field]));
}

export function orderFrom(form) {
  const order = { pd_mm: {} }; // without a PD of its own the service takes that of a text, and else asks for it
  for (const [pointer, field] of fieldsOf(form)) {
    const value = valueOf(field.value, field.dataset.kind);
    if (value === "") continue;
    const names = pointer.slice(1).split("/");
    const last = names.pop();
    let place = order;
    for (const name of names) place = place[name] ??= {};
    place[last] = value;
  }
  return order;
}

export const EXAMPLE = {
  "r-sphere": "-2.25", "r-cylinder": "-0.75", "r-axis": "10",
  "l-sphere": "-2.50", "l-cylinder": "-0.50", "l-axis": "170",
  "pd-both": "63.5", a: "52", b: "38", dbl: "18", ed: "56", "h-right": "21", "h-left": "21",
  material: "polycarbonate", age: "34", reference: "W-1042",
};
