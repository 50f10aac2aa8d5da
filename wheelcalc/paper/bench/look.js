// The readings of every pass, to look at.
function look() {
  const parts = state.passes.flatMap((_, i) => COLUMNS.filter(([column]) => filled(i + 1, column)).flatMap(([column, words]) =>
    [make("h3", {}, `Pass ${i + 1}: ${words}`), strip(cells(i + 1)[column], null)]));
  const read = COLUMNS.filter(([column]) => filled(state.passes.length, column));
  const head = ["hole", "side", ...read.map(([, words]) => words.replace(/,.*/, ""))].map((word) => make("th", { scope: "col" }, word));
  const rows = state.sides.map((side, i) => make("tr", {}, make("th", { scope: "row" }, `${i + 1}`), make("td", {}, side),
    ...read.map(([column]) => make("td", {}, `${cells(state.passes.length)[column][i + 1] ?? "-"}`))));
  show(make("h2", {}, "The readings"), ...parts, make("h3", {}, `Pass ${state.passes.length}, hole by hole`),
    make("table", {}, make("thead", {}, make("tr", {}, ...head)), make("tbody", {}, ...rows)),
    make("div", { class: "row" }, button("Back", home)));
}
