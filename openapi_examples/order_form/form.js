// The form: fields in, one question to the service, its answer shown. What was typed stays in the fields and nowhere else.
import { EXAMPLE, orderFrom } from "./order.js";
import { ask } from "./service.js";
import { clear, nameOf, placed, placeOf } from "./show.js";
import { KNOWN, WORDS } from "./words.js";

const form = document.getElementById("order");
const result = document.getElementById("result");
const send = document.getElementById("send");
const status = document.getElementById("status");
const failure = document.getElementById("failure");
const example = document.getElementById("example");
const seconds = Number(form.dataset.seconds);

let language = "en";
let words = WORDS.en;
let running = null; // what stops the question that is under way
let lastAnswer = null; // is there a result that a change of language must ask for again?

const address = (path) => new URL(`${form.dataset.service.replace(/\/+$/, "")}${path}`, document.baseURI);

form.addEventListener("submit", (event) => {
  event.preventDefault();
  check({ moveFocus: true });
});
form.addEventListener("input", () => (example.hidden = true));
form.addEventListener("change", (event) => {
  if (event.target.dataset.shows) showChosen();
});
example.addEventListener("click", () => {
  for (const [id, value] of Object.entries(EXAMPLE)) document.getElementById(id).value = value;
  const month = new Date(Date.now() - 60 * 86_400_000).toISOString().slice(0, 10);
  document.getElementById("issued").value = month;
  send.focus();
});
for (const button of document.querySelectorAll("[data-language]")) {
  button.addEventListener("click", () => {
    speak(button.dataset.language);
    if (lastAnswer !== null) check({ moveFocus: false });
  });
}
result.addEventListener("click", (event) => {
  const link = event.target.closest("a[data-goes-to]");
  if (!link) return;
  event.preventDefault();
  const place = document.getElementById(link.dataset.goesTo);
  if (place.tagName === "FIELDSET") place.tabIndex = -1;
  place.focus();
});

showChosen();
speak(navigator.languages.map((tag) => tag.slice(0, 2)).find((tag) => KNOWN.includes(tag)) ?? "en");

function showChosen() {
  for (const radio of form.querySelectorAll("[data-shows]")) {
    document.getElementById(radio.dataset.shows).hidden = !radio.checked;
  }
}

function speak(chosen) {
  language = chosen;
  words = WORDS[chosen];
  document.documentElement.lang = chosen;
  for (const element of document.querySelectorAll("[data-word]")) element.textContent = words[element.dataset.word];
  for (const button of document.querySelectorAll("[data-language]")) {
    button.setAttribute("aria-pressed", String(button.dataset.language === chosen));
  }
  status.textContent = failure.textContent = "";
}

async function check({ moveFocus }) {
  running?.abort();
  const mine = (running = new AbortController());
  const order = orderFrom(form);
  const asked = { language, seconds, stop: mine.signal };
  form.setAttribute("aria-busy", "true");
  send.setAttribute("aria-disabled", "true");
  failure.textContent = "";
  status.textContent = words.checking;
  const patience = setTimeout(() => (status.textContent = words.waiting), 3000);
  const found = await ask(address("/v1/orders/check"), order, asked);
  clearTimeout(patience);
  if (found.kind === "stopped") return; // another check has taken its place
  send.removeAttribute("aria-disabled");
  clear(form);
  if (found.kind === "answer") await shown(found.answer, order, asked, moveFocus);
  else if (found.kind === "unreadable") refused(found.errors, moveFocus);
  else failed(found);
  if (mine === running) form.removeAttribute("aria-busy");
}

async function shown(answer, order, asked, moveFocus) {
  const problems = answer.findings.map((finding) => ({
    pointer: finding.pointer,
    severity: finding.severity,
    text: finding.customer_message,
    remedies: finding.remedies,
  }));
  report(answer.decision, problems, moveFocus);
  listed("cautions", answer.cautions.map((caution) => caution.message));
  setShown(".cautions", true);
  await draw(answer.decision, order, asked);
}

/** What could not even be read as an order: the form's own words by the code of each fault, the service's where it has none. */
function refused(errors, moveFocus) {
  const problems = errors.map((fault) => {
    const pointer = fault.pointer ?? "";
    const kind = placeOf(form, pointer).dataset.kind;
    const text = words.faults[`${fault.code} ${kind}`] ?? words.faults[fault.code] ?? fault.message;
    return { pointer, severity: "reject", text, remedies: [] };
  });
  report("reject", problems, moveFocus);
  setShown(".cautions", false);
  setShown("#drawing", false);
  setShown("#no-drawing", false);
}

function failed({ kind, id }) {
  lastAnswer = null;
  result.hidden = true;
  status.textContent = "";
  failure.textContent = [words[kind](seconds), id ? words.requestId(id) : ""].join(" ").trim();
  send.focus();
}

function report(decision, problems, moveFocus) {
  lastAnswer = decision;
  const shownProblems = placed(form, problems, words);
  const [title, sentence] = words.states[decision];
  result.dataset.state = decision;
  document.getElementById("state").textContent = title;
  document.getElementById("state-words").textContent = sentence;
  const list = document.getElementById("problems");
  list.replaceChildren(
    ...shownProblems.map(({ place, severity, text, hint }) => {
      const link = Object.assign(document.createElement("a"), { href: `#${place.id}`, textContent: nameOf(place) });
      link.dataset.goesTo = place.id;
      const item = document.createElement("li");
      item.append(link, ` (${words[severity]}): ${text} ${hint}`);
      return item;
    }),
  );
  result.hidden = false;
  status.textContent = words.checked;
  if (moveFocus) result.focus();
}

async function draw(decision, order, asked) {
  const image = document.getElementById("drawing-image");
  setShown("#drawing", false);
  setShown("#no-drawing", false);
  if (decision === "reject") return;
  const found = await ask(address("/v1/bench/drawing"), { order }, { ...asked, accept: "image/svg+xml" });
  if (found.kind === "stopped") return;
  if (found.kind !== "answer") {
    setShown("#no-drawing", true);
    return;
  }
  // As an image a drawing can neither run nor load anything, whatever it holds.
  image.src = `data:image/svg+xml,${encodeURIComponent(found.answer)}`;
  image.alt = words["drawing-alt"];
  document.getElementById("drawing-save").href = image.src;
  setShown("#drawing", true);
}

function listed(id, texts) {
  const items = texts.map((text) => Object.assign(document.createElement("li"), { textContent: text }));
  document.getElementById(id).replaceChildren(...items);
}

function setShown(selector, isShown) {
  for (const element of document.querySelectorAll(selector)) element.hidden = !isShown;
}
