// Which nipples to turn, and what that brings.
let before = null; // what the last advice showed, to compare with
async function advise() {
  said.textContent = "Working it out ...";
  let found;
  try { await refresh(); found = await ask("advise", {}); } catch (error) { return tell(error); }
  const number = Math.max(1, state.passes.length);
  const turned = cells(number).turned || {};
  const findings = found.findings.map((each) => make("div", { class: `finding ${each.level}` },
    make("strong", {}, `${each.level}: `), `${each.text} ${each.remedy}`));
  const again = found.left_out.map((each) => button(
    `Read hole ${each.rim_hole} again: ${each.value} looks wrong, about ${each.likely.toFixed(2)} expected`,
    () => read(each.column.includes("_") ? each.column : `${each.column}_mm`, each.rim_hole)));
  const ticks = found.turns.map((each) => {
    const box = make("input", { type: "checkbox", checked: Boolean(turned[each.rim_hole]) });
    const label = make("label", { class: box.checked ? "tick ticked" : "tick" }, box,
      `${each.turns > 0 ? "\u21bb" : "\u21ba"} hole ${each.rim_hole}, ${each.side}: ${each.words}`);
    box.addEventListener("change", async () => {
      try {
        await ask("read", { pass: number, rim_hole: each.rim_hole, column: "turned", value: box.checked ? each.turns : 0 });
        label.classList.toggle("ticked", box.checked);
      } catch (error) { box.checked = !box.checked; tell(error); }
    });
    return label;
  });
  const figure = (name, digits) => make("tr", {}, make("th", { scope: "row" }, name.replace("_mm", ", mm")),
    ...["before", "now", "after", "after_reads"].map((when) => make("td", {}, number_of(found[when], name, digits))));
  const table = make("table", {}, make("thead", {}, make("tr", {}, ...["", "as read", "now", "after", "next readings"].map((word) => make("th", { scope: "col" }, word)))),
    make("tbody", {}, figure("lateral_mm", 2), figure("radial_mm", 2), figure("dish_mm", 2)));
  const picture = make("img", { alt: "The wheel from valve to valve, now and after the turns", src: `data:image/svg+xml,${encodeURIComponent(found.strip)}` });
  const last = before ? make("details", {}, make("summary", {}, "The strip of the pass before"), before.cloneNode()) : null;
  before = picture;
  show(make("h2", {}, found.verdict), ...findings, ...again, ...ticks,
    ticks.length ? make("p", {}, "Tighter is clockwise, seen from the tyre. Tick each nipple as you turn it.") : null,
    table, picture, last,
    found.done ? make("p", { class: "finding" }, "Before the first ride: spin it and listen, squeeze the spokes in pairs, try the brakes at a walk. After 50 km read it again.") : null,
    make("div", { class: "row" }, button(ticks.length && state.log ? "Turned: read again" : "Back", home, "main")));
}
function number_of(figures, name, digits) {
  const value = figures && figures[name];
  return typeof value === "number" ? value.toFixed(digits) : "-";
}
