// Where the work stands.
const COLUMNS = [
  ["lateral_mm", "sideways, mm, + right"],
  ["radial_mm", "up and down, mm, + outward"],
  ["tension_N", "tension, N"],
];
let state = null;
async function refresh() {
  state = await ask("state");
  document.getElementById("title").textContent = state.title;
  const now = current();
  document.getElementById("where").textContent = `Pass ${now}, ${state.holes} holes. ${state.log ? `Saved in ${state.log}` : "Ticks are kept by this browser."}`;
}
const cells = (number) => state.passes[number - 1] || {};
const filled = (number, column) => Object.keys(cells(number)[column] || {}).length;
const anyRead = (number) => COLUMNS.some(([column]) => filled(number, column));
function current() {
  const last = Math.max(1, state.passes.length);
  return state.log && filled(last, "turned") ? last + 1 : last;
}
