// What was read so far, from the valve to the valve; as rings what the pass before read.
function strip(values, at, earlier = {}) {
  const [found, old] = [values, earlier].map((each) => Object.entries(each).map(([hole, value]) => [Number(hole), value]));
  const heights = [...found, ...old].map((each) => each[1]);
  const level = heights.length && Math.min(...heights) > 0.25 * Math.max(...heights); // far from nothing: tensions, pitches
  const low = Math.min(...heights, ...(level ? [] : [0])), high = Math.max(...heights, ...(level ? [] : [0]));
  const size = high - low || 1;
  const x = (hole) => (360 * (hole - 0.5)) / state.holes, y = (value) => 62 - (54 * (value - low)) / size;
  const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  const draw = (name, attributes) => {
    const element = document.createElementNS(svg.namespaceURI, name);
    for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
    svg.append(element);
  };
  svg.setAttribute("viewBox", "0 0 360 70");
  svg.setAttribute("role", "img");
  svg.setAttribute("aria-label", `${found.length} of ${state.holes} read, from the valve to the valve${old.length ? "; rings: the pass before" : ""}`);
  if (!level) draw("line", { x1: 0, x2: 360, y1: y(0), y2: y(0), class: "mark", "stroke-dasharray": "3 3" });
  if (at) draw("line", { x1: x(at), x2: x(at), y1: 2, y2: 68, class: "mark" });
  for (const [hole, value] of old) draw("circle", { cx: x(hole), cy: y(value), r: 2.5, class: "mark" });
  for (const [hole, value] of found) draw("circle", { cx: x(hole), cy: y(value), r: 2.5, class: "read" });
  return svg;
}
