// Findings: filtered by check, block and move, stepped through by arrow keys, each with a command to copy.
(() => {
  const filters = byId("filters");
  const entries = [...document.querySelectorAll(".list .findings > li")];
  const cards = () => entries.filter((entry) => !entry.hidden).map((entry) => entry.firstElementChild);
  const chosen = { check: byId("by-check"), block: byId("by-block"), move: byId("by-move") };
  let current = null;

  const filter = () => {
    const asked = Object.entries(chosen).filter(([, choice]) => choice.value);
    for (const entry of entries) {
      entry.hidden = !asked.every(([key, choice]) => entry.dataset[key] === choice.value);
    }
    for (const group of document.querySelectorAll(".list .group")) {
      const left = group.querySelectorAll(".findings > li:not([hidden])").length;
      const count = group.querySelector("h3 .count");
      group.hidden = !left;
      if (count) { say(count, left); }
    }
    say(byId("shown"), `${cards().length} of ${entries.length} shown`);
  };

  const step = (by) => {
    const shown = cards();
    if (!shown.length) { return; }
    const from = shown.indexOf(current);
    const to = from < 0 ? (by > 0 ? 0 : shown.length - 1) : Math.min(Math.max(from + by, 0), shown.length - 1);
    shown[to].focus();
    const time = shown[to].querySelector(".when [data-at]");
    if (time) { player.seek(Number(time.dataset.at), time.textContent); }
  };

  // Left and right step from anywhere that has no use for them itself; up and down only from inside a finding.
  const ownKeys = "input, select, textarea, video, .scroll, .scroller, .words";
  document.addEventListener("keydown", (event) => {
    if (event.defaultPrevented || event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) { return; }
    const inside = event.target.closest("article.finding");
    const aside = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    const along = inside ? { ArrowDown: 1, ArrowUp: -1 }[event.key] : undefined;
    const by = aside || along;
    if (!by || event.target.closest(ownKeys)) { return; }
    event.preventDefault();
    step(by);
  });

  document.addEventListener("focusin", (event) => {
    const card = event.target.closest("article.finding");
    if (!card) { return; }
    if (current) { current.tabIndex = -1; }
    current = card;
    current.tabIndex = 0;
  });

  const copy = async (button) => {
    const command = button.parentElement.querySelector("code");
    const before = button.textContent;
    try {
      await navigator.clipboard.writeText(command.textContent);
      say(button, "Copied");
    } catch (refused) {
      command.closest("details").open = true;
      getSelection().selectAllChildren(command);
      say(button, document.execCommand("copy") ? "Copied" : "Selected: copy it with your keys");
    }
    setTimeout(() => say(button, before), 2500);
  };

  for (const button of document.querySelectorAll("button.copy")) {
    button.hidden = false;
    button.addEventListener("click", () => copy(button));
  }
  if (filters) {
    filters.hidden = false;
    filters.addEventListener("change", filter);
    filters.addEventListener("reset", () => setTimeout(filter));
    filters.addEventListener("submit", (event) => event.preventDefault());
    filter();
    entries[0].firstElementChild.tabIndex = 0;
  }
  // A link to a finding that is filtered out shows all of them first.
  document.addEventListener("click", (event) => {
    const link = event.target.closest('a[href^="#f-"]');
    const target = link && byId(link.hash.slice(1));
    if (target && target.parentElement.hidden) {
      for (const choice of Object.values(chosen)) { choice.value = ""; }
      filter();
    }
    if (target) { setTimeout(() => target.focus({ preventScroll: true })); }
  });
  byId("before").addEventListener("click", () => step(-1));
  byId("after").addEventListener("click", () => step(1));
  return { step };
})();
