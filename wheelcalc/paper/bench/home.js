// The first screen: the tension card, what was read, and what can be done.
async function home() {
  const still = want();
  try { await refresh(); } catch (error) {
    if (!still()) return;
    show(make("h2", {}, error.status === 403 ? "Not let in" : "No answer"), button("Try again", home, "main"));
    return tell(error);
  }
  if (!still()) return;
  const now = current();
  const rows = Object.entries(state.targets).map(([side, each]) => make("tr", {}, make("th", { scope: "row" }, side),
    make("td", {}, `${Math.round(each.target_N)}`), make("td", {}, `${Math.round(each.low_N)}-${Math.round(each.high_N)}`),
    make("td", {}, each.pitch_hz ? `${Math.round(each.pitch_hz)} (${each.note})` : "-")));
  const head = make("tr", {}, ...["side", "target N", "allowed N", "note Hz"].map((word) => make("th", { scope: "col" }, word)));
  show(
    make("h2", {}, `Pass ${now}`),
    state.cut_off ? finding(`The log's last line was cut short (${state.cut_off}) and is left out; read that hole again.`) : null,
    make("table", {}, make("thead", {}, head), make("tbody", {}, ...rows)),
    ...(state.log ? toDo(now) : [make("div", { class: "row" }, button("Which nipples to turn", advise, "main"), button("The readings", look))]),
    state.passes.length > 1 ? brought() : null,
  );
}

// What comes next is the one in strong colour: the first column not read all round, then the turns.
function toDo(now) {
  const tension = filled(now, "tension_N") + filled(now, "pitch_hz");
  const read_of = (column) => (column === "tension_N" || column === "pitch_hz" ? tension : filled(now, column));
  const whole = (column) => read_of(column) >= (column.endsWith("_mm") ? state.holes : state.sides.filter(Boolean).length);
  const next = COLUMNS.find(([column]) => !whole(column));
  const reads = COLUMNS.map((each) => button(`Read ${each[1].split(",")[0]} (${filled(now, each[0])} of ${state.holes})`,
    () => read(each[0]), each === next ? "main" : ""));
  const back = now > 1 && !anyRead(now) ? button(`Not turned yet: back to pass ${now - 1}`, async () => {
    const still = want();
    try { await ask("go-on", { pass: now }); } catch (error) { return failed(error); }
    if (still()) await advise();
  }) : null;
  return [make("div", { class: "row" }, ...reads),
    make("div", { class: "row" }, button("Which nipples to turn", advise, next ? "" : "main"), back),
    make("div", { class: "row" }, button("Tensions by ear", ear), button("A spoke has broken", broken))];
}
