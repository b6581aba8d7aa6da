/**
 * Checks a range of orders in one call and writes decision and reason beside each row.
 *
 * In a sheet: Extensions, Apps Script, paste this file, set SERVICE, save; then reload the sheet and choose Orders, Check.
 * The script runs on the script host's machines, not on yours: SERVICE must be an address that they can reach, so put
 * log-in and TLS in front of the service first (headers for a log-in go into `request`). A machine behind a firewall is not
 * reached; use the other workbooks there.
 *
 * The first row of the selected sheet names the columns, with the words of the cells: rsph, rcyl, raxis, radd, lsph, lcyl,
 * laxis, ladd, rpd, lpd, pd, a, b, dbl, ed, rheight, lheight, material, use, blank, age, reference, as_of (as text,
 * 2026-11-25). An empty cell is left out. A cell that holds something else than its column wants is sent as it is: the
 * service tells what is wrong with it, and nothing is guessed here.
 */
const SERVICE = "https://benchgate.example.com";
const MOST_ORDERS = 50; // in one call; GET /v1/reference/limits names the most that the service takes

const PLACES = {
  rsph: ["prescription", "right", "sphere"],
  rcyl: ["prescription", "right", "cylinder"],
  raxis: ["prescription", "right", "axis"],
  radd: ["prescription", "right", "add"],
  lsph: ["prescription", "left", "sphere"],
  lcyl: ["prescription", "left", "cylinder"],
  laxis: ["prescription", "left", "axis"],
  ladd: ["prescription", "left", "add"],
  rpd: ["pd_mm", "right"],
  lpd: ["pd_mm", "left"],
  pd: ["pd_mm", "both"],
  a: ["frame", "a_mm"],
  b: ["frame", "b_mm"],
  dbl: ["frame", "dbl_mm"],
  ed: ["frame", "ed_mm"],
  rheight: ["fitting_height_mm", "right"],
  lheight: ["fitting_height_mm", "left"],
  material: ["lens", "material"],
  use: ["lens", "use"],
  blank: ["lens", "blank_diameter_mm"],
  age: ["wearer", "age_years"],
  reference: ["reference"],
  as_of: ["as_of"],
};

/** The order in one row, its columns named by the header. */
function orderOf(header, row) {
  const order = { prescription: { right: {}, left: {} }, pd_mm: {}, frame: {} };
  header.forEach((name, at) => {
    const place = PLACES[String(name).trim()];
    if (place === undefined) {
      if (name !== "" && name !== "decision" && name !== "why") throw new Error(`The column ${name} is not known here.`);
      return;
    }
    if (row[at] === "") return;
    let node = order;
    place.slice(0, -1).forEach((step) => (node = node[step] = node[step] || {}));
    node[place[place.length - 1]] = row[at];
  });
  return order;
}

/** Decision and reason of one answer. An order that cannot be read has no decision. */
function verdictOf(one) {
  if (one.answer === null) {
    const faults = one.problem.errors.map((fault) => fault.message);
    return ["not readable", faults.join(" ") || one.problem.detail];
  }
  const told = one.answer.findings.filter((finding) => finding.severity !== "note");
  return [one.answer.decision, told.map((finding) => finding.message).join(" ")];
}

/** What is sent for a list of orders. */
function requestOf(orders) {
  return {
    method: "post",
    contentType: "application/json",
    headers: { Accept: "application/json" },
    payload: JSON.stringify({ orders: orders }),
    muteHttpExceptions: true,
  };
}

/** Decision and reason for each row, one call for up to MOST_ORDERS of them. */
function checkedRows(values) {
  const header = values[0];
  const orders = values.slice(1).map((row) => orderOf(header, row));
  const verdicts = [];
  for (let from = 0; from < orders.length; from += MOST_ORDERS) {
    const some = orders.slice(from, from + MOST_ORDERS);
    const response = UrlFetchApp.fetch(`${SERVICE}/v1/orders/check-many`, requestOf(some));
    if (response.getResponseCode() !== 200) {
      throw new Error(`The service answered ${response.getResponseCode()}: ${response.getContentText().slice(0, 500)}`);
    }
    const answers = JSON.parse(response.getContentText()).answers;
    if (answers.length !== some.length || answers.some((one, at) => one.index !== at)) {
      throw new Error("The service answered other rows than were sent. Nothing was written.");
    }
    answers.forEach((one) => verdicts.push(verdictOf(one)));
  }
  return verdicts;
}

/** The menu entry. What stood in the two columns is cleared first: if the call fails no old decision is left. */
function checkSheet() {
  const sheet = SpreadsheetApp.getActiveSheet();
  const values = sheet.getDataRange().getValues();
  const known = values[0].indexOf("decision");
  const column = known < 0 ? values[0].length : known;
  const rows = values.length - 1;
  if (rows < 1) return;
  const beside = sheet.getRange(2, column + 1, rows, 2);
  beside.clearContent();
  sheet.getRange(1, column + 1, 1, 2).setValues([["decision", "why"]]);
  SpreadsheetApp.flush();
  beside.setValues(checkedRows(values));
}

function onOpen() {
  SpreadsheetApp.getUi().createMenu("Orders").addItem("Check", "checkSheet").addToUi();
}
