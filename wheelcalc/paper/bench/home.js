// The first screen: the tension card and what can be done.
async function home() {
  try { await refresh(); } catch (error) { show(make("h2", {}, "Not let in")); return tell(error); }
  const now = current();
  const rows = Object.entries(state.targets).map(([side, each]) => make("tr", {}, make("th", { scope: "row" }, side),
    make("td", {}, `${Math.round(each.target_N)}`), make("td", {}, `${Math.round(each.low_N)}-${Math.round(each.high_N)}`),
    make("td", {}, each.pitch_hz ? `${Math.round(each.pitch_hz)} (${each.note})` : "-")));
  const head = make("tr", {}, ...["side", "target N", "allowed N", "note Hz"].map((word) => make("th", { scope: "col" }, word)));
  show(
    make("h2", {}, `Pass ${now}`),
    state.cut_off ? make("p", { class: "finding" }, `The log's last line was cut short (${state.cut_off}) and is left out; read that hole again.`) : null,
    make("table", {}, make("thead", {}, head), make("tbody", {}, ...rows)),
    state.log ? make("div", { class: "row" }, ...COLUMNS.map(([column, words]) =>
      button(`Read ${words.split(",")[0]} (${filled(now, column)} of ${state.holes})`, () => read(column)))) : null,
    make("div", { class: "row" }, button("Which nipples to turn", advise, "main")),
    make("div", { class: "row" }, ...(state.log
      ? [button("Listen to a recording", listen), button("A spoke has broken", broken)] : [button("The readings", look)])),
  );
}
