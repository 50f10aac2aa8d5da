// Which nipples to turn, and what that brings.
async function advise() {
  const still = want();
  said.textContent = "Working it out ...";
  let found;
  try { await refresh(); found = await ask("advise", {}); } catch (error) { return still() ? failed(error) : null; }
  if (!still()) return;
  const number = current();
  const turned = cells(number).turned || {};
  const findings = found.findings.map((each) => make("div", { class: `finding ${each.level}` },
    make("strong", {}, `${each.level}: `), `${each.text} ${each.remedy}`));
  const again = (found.again || []).map((each) => button(`Read hole ${each.rim_hole} again: ${each.words}`, () => read(each.column, each.rim_hole, each, advise)));
  const ticks = found.turns.map((each) => tick(number, each, turned[each.rim_hole] === each.turns));
  const figure = (name, digits) => make("tr", {}, make("th", { scope: "row" }, name.replace("_mm", ", mm")),
    ...["before", "now", "after", "after_reads"].map((when) => make("td", {}, number_of(found[when], name, digits))));
  const table = make("table", {}, make("thead", {}, make("tr", {}, make("td"), ...["as read", "now", "after", "next readings"].map((word) => make("th", { scope: "col" }, word)))),
    make("tbody", {}, figure("lateral_mm", 2), figure("radial_mm", 2), figure("dish_mm", 2)));
  show(make("h2", {}, found.verdict), ...findings, ...again,
    ticks.length ? make("p", {}, found.how, make("br"), found.safety) : null,
    ...ticks,
    (found.made || []).length ? make("p", {}, `Turned besides in this pass: ${found.made.join(", ")}.`) : null,
    state.log ? make("div", { class: "row" }, ticks.length
      ? button("Turned: next pass", () => finish(number, ticks), "main") : button("Read all again", () => end(number, "none")), button("Back", home)) : null,
    found.ride_in ? card(found.ride_in) : null,
    table, drawn(found.strip, "The wheel from valve to valve, now and after the turns"), found.earlier ? earlier(found.earlier) : null,
    state.log ? null : make("div", { class: "row" }, button("Back", home, "main")));
}
function number_of(figures, name, digits) {
  const value = figures && figures[name];
  return typeof value === "number" ? value.toFixed(digits) : "-";
}
const drawn = (svg, alt) => make("img", { alt, src: `data:image/svg+xml,${encodeURIComponent(svg)}` });

function tick(number, each, ticked) {
  const box = make("input", { type: "checkbox", checked: ticked });
  const label = make("label", { class: ticked ? "tick ticked" : "tick" }, box,
    `${each.turns > 0 ? "\u21bb" : "\u21ba"} hole ${each.rim_hole}, ${each.side}: ${each.words}`);
  box.addEventListener("change", () => {
    const value = box.checked ? each.turns : 0;
    sending = ask("read", { pass: number, rim_hole: each.rim_hole, column: "turned", value })
      .then(() => label.classList.toggle("ticked", value !== 0), (error) => { box.checked = !value; failed(error); });
  });
  return label;
}
let sending = Promise.resolve(); // the tick made last

// The strip of the pass before, fetched when it is opened.
function earlier(passes) {
  const place = make("div");
  const opened = async () => {
    if (place.firstChild) return;
    try { place.append(drawn((await ask("strip", { passes })).strip, `The strip of pass ${passes}`)); } catch (error) { failed(error); }
  };
  return make("details", { ontoggle: opened }, make("summary", {}, "The strip of the pass before"), place);
}

// The pass ends by a word; what is not ticked counts as not turned.
async function finish(number, ticks) {
  const still = want();
  await sending;
  if (!still()) return;
  const count = ticks.filter((each) => each.classList.contains("ticked")).length;
  if (count === ticks.length) return end(number, "ticked");
  show(make("h2", {}, count ? `${count} of ${ticks.length} are ticked` : "Nothing is ticked"),
    make("p", {}, "What is not ticked counts as not turned."),
    make("div", { class: "row" },
      button("All were turned as listed", () => end(number, "all")),
      count ? button("Only the ticked ones", () => end(number, "ticked")) : button("None was turned", () => end(number, "none")),
      button("Back to the list", advise, "main")));
}
async function end(number, turned) {
  const still = want();
  try { stand(await ask("end", { pass: number, turned })); } catch (error) { return failed(error); }
  if (still()) await home();
}

// Before and after the first rides.
function card(ride) {
  const boxes = ride.before.map((words) => make("label", { class: "tick" }, make("input", { type: "checkbox" }), words));
  return make("section", { class: "finding" }, make("h3", {}, "Before the first ride"), make("p", {}, ride.warning), ...boxes,
    make("p", {}, ride.after), make("p", {}, ride.never));
}
