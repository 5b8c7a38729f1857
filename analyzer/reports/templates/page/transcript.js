// The transcript: found words, marks to show and hide, and the caption being played.
(() => {
  const words = byId("words");
  const lines = [...words.querySelectorAll(".passage")];
  const texts = lines.map((line) => [...spokenNodes(line)]);
  const sought = byId("sought");

  // The spoken words alone: tags name what was spotted and are not part of what was said.
  function* spokenNodes(line) {
    const walker = document.createTreeWalker(line.querySelector(".spoken"), NodeFilter.SHOW_TEXT);
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
      if (!node.parentElement.closest(".tag, .speaker")) { yield node; }
    }
  }

  // Returns ranges of a line where the wanted letters stand, whatever the marks between them.
  const found = (nodes, wanted) => {
    const places = [];
    let all = "";
    for (const node of nodes) {
      for (let at = 0; at < node.data.length; at += 1) {
        const sign = /\s/.test(node.data[at]) ? " " : node.data[at].toLowerCase();
        if (sign === " " && all.endsWith(" ")) { continue; }
        for (const letter of sign) { all += letter; places.push([node, at]); }
      }
    }
    const ranges = [];
    for (let at = all.indexOf(wanted); at >= 0; at = all.indexOf(wanted, at + wanted.length)) {
      const range = new Range();
      const [first, last] = [places[at], places[at + wanted.length - 1]];
      range.setStart(first[0], first[1]);
      range.setEnd(last[0], last[1] + 1);
      ranges.push(range);
    }
    return ranges;
  };

  const search = () => {
    const wanted = sought.value.toLowerCase().replace(/\s+/g, " ").trim();
    const ranges = [];
    lines.forEach((line, number) => {
      const own = wanted ? found(texts[number], wanted) : [];
      line.hidden = Boolean(wanted) && !own.length;
      ranges.push(...own);
    });
    if (window.CSS && CSS.highlights) { CSS.highlights.set("sought", new Highlight(...ranges)); }
    say(byId("hits"), wanted ? `${ranges.length} found` : "");
  };

  byId("searching").hidden = false;
  sought.addEventListener("input", search);
  for (const box of byId("searching").querySelectorAll("[type=checkbox]")) {
    const apply = () => words.classList.toggle(`no-${box.value}`, !box.checked);
    box.addEventListener("change", apply);
    apply();
  }

  const starts = lines.map((line) => Number((line.querySelector("[data-at]") || { dataset: { at: 0 } }).dataset.at));
  let spoken = null;
  player.media.addEventListener("timeupdate", () => {
    const number = starts.findLastIndex((start) => start <= player.media.currentTime + 0.05);
    if (lines[number] === spoken) { return; }
    if (spoken) { spoken.removeAttribute("aria-current"); }
    spoken = lines[number] || null;
    if (spoken) { spoken.setAttribute("aria-current", "true"); }
  });
})();
