// Where the work stands.
const COLUMNS = [
  ["lateral_mm", "sideways, mm, + right"],
  ["radial_mm", "up and down, mm, + outward"],
  ["tension_N", "tension, N"],
  ["pitch_hz", "note by ear, Hz or such as F#4 -12"],
];
let state = null;
async function refresh() {
  stand(await ask("state"));
}
function stand(found) {
  state = found;
  document.getElementById("title").textContent = state.title;
  const now = current();
  document.getElementById("where").textContent = `Pass ${now}, ${state.holes} holes. ${state.log ? `Saved in ${state.log}` : "Ticks are kept by this browser."}`;
}
const cells = (number) => state.passes[number - 1] || {};
const filled = (number, column) => Object.keys(cells(number)[column] || {}).length;
const anyRead = (number) => COLUMNS.some(([column]) => filled(number, column));
// What each pass read and turned, to compare.
function brought() {
  const rows = state.brought.map((each, i) => make("tr", {}, make("th", { scope: "row" }, `${i + 1}`),
    make("td", {}, number_of(each, "lateral_mm", 2)), make("td", {}, number_of(each, "radial_mm", 2)), make("td", {}, `${each.nipples ?? "-"}`)));
  const head = ["pass", "sideways, mm", "up and down, mm", "nipples turned"].map((word) => make("th", { scope: "col" }, word));
  return make("table", { class: "brought" }, make("thead", {}, make("tr", {}, ...head)), make("tbody", {}, ...rows));
}
const current = () => state.pass || state.passes.length;
