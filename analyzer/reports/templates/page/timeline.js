// The timeline: zoomed by wider lines, and one stop for the keyboard inside which arrow keys go on.
(() => {
  const score = byId("score");
  const scroller = byId("scroller");
  const sizes = ["smallest", "usual", "wide", "wider", "widest"];
  const lanes = ["planned", "recorded", "calls", "options", "flags"];
  const stops = lanes.map((lane) => [...score.querySelectorAll(`.lane.${lane} a`)]);

  const zoom = (by) => {
    const size = Math.min(Math.max(Number(score.dataset.zoom) - 1 + by, 0), sizes.length - 1);
    score.dataset.zoom = size + 1;
    byId("out").setAttribute("aria-disabled", size === 0);
    byId("in").setAttribute("aria-disabled", size === sizes.length - 1);
    say(byId("zoomed"), `Size: ${sizes[size]}`);
  };
  byId("zooming").hidden = false;
  byId("in").addEventListener("click", () => zoom(1));
  byId("out").addEventListener("click", () => zoom(-1));
  zoom(0);

  let current = stops[1][0] || stops[0][0];
  const enter = (stop) => {
    if (current) { current.tabIndex = -1; }
    current = stop;
    current.tabIndex = 0;
  };
  for (const stop of stops.flat()) { stop.tabIndex = -1; }
  if (current) { enter(current); }

  // Down and up go to the stop nearest in time on the next lane that has any.
  const time = (stop) => {
    const line = stop.closest(".line");
    const box = line.getBoundingClientRect();
    const lines = [...score.children];
    return lines.indexOf(line) + (stop.getBoundingClientRect().left - box.left) / box.width;
  };
  const across = (lane, by) => {
    for (let next = lane + by; next >= 0 && next < stops.length; next += by) {
      if (stops[next].length) {
        const at = time(current);
        return stops[next].reduce((best, stop) => (Math.abs(time(stop) - at) < Math.abs(time(best) - at) ? stop : best));
      }
    }
    return null;
  };

  score.addEventListener("focusin", (event) => {
    const stop = event.target.closest("a");
    if (stop) { enter(stop); }
  });
  score.addEventListener("keydown", (event) => {
    const lane = stops.findIndex((row) => row.includes(event.target));
    if (lane < 0 || event.altKey || event.ctrlKey || event.metaKey) { return; }
    const row = stops[lane];
    const place = row.indexOf(event.target);
    const goal = {
      ArrowRight: () => row[place + 1],
      ArrowLeft: () => row[place - 1],
      ArrowDown: () => across(lane, 1),
      ArrowUp: () => across(lane, -1),
      Home: () => row[0],
      End: () => row[row.length - 1],
    }[event.key];
    if (!goal) { return; }
    event.preventDefault();
    const stop = goal();
    if (stop) { stop.focus(); }
  });
  scroller.addEventListener("focusin", (event) => event.target.scrollIntoView({ block: "nearest", inline: "nearest" }));
})();
