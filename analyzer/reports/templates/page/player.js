// The take: a file the reader picks, played from any time on the page. It never leaves the computer.
const byId = (id) => document.getElementById(id);
const say = (place, text) => { place.textContent = text; };

const player = (() => {
  const panel = byId("player");
  const media = byId("video");
  const picker = byId("take");
  const told = byId("told");
  const steps = panel.querySelector(".steps");
  let address = "";

  panel.querySelector(".pick").hidden = false;

  const release = () => {
    if (address) { URL.revokeObjectURL(address); }
    address = "";
  };

  const show = (open) => {
    media.hidden = !open;
    steps.hidden = !open;
    panel.classList.toggle("ready", open);
  };

  picker.addEventListener("change", () => {
    const file = picker.files[0];
    if (!file) { return; }
    release();
    address = URL.createObjectURL(file);
    media.src = address;
    panel.classList.toggle("sound", file.type.startsWith("audio/"));
    show(true);
    say(told, "Ready. Choose any time on this page to play from there.");
  });

  media.addEventListener("error", () => {
    if (address) { say(told, "This browser cannot play that file. Try another export of the take."); }
  });

  byId("close").addEventListener("click", () => {
    media.pause();
    release();
    media.removeAttribute("src");
    picker.value = "";
    show(false);
    say(told, "");
    picker.focus();
  });

  const seek = (at, what) => {
    if (!address) { return; }
    media.currentTime = at;
    say(told, `At ${what}`);
  };

  const play = (at, what) => {
    media.currentTime = at;
    const playing = media.play();
    if (playing) { playing.catch(() => {}); }
    say(told, `Playing from ${what}`);
  };

  document.addEventListener("click", (event) => {
    const place = event.target.closest("[data-at]");
    if (!place || !address || event.ctrlKey || event.metaKey || event.shiftKey) { return; }
    event.preventDefault();
    const what = place.getAttribute("aria-label") || place.textContent.trim();
    play(Number(place.dataset.at), what.slice(0, 80));
  });

  return { media, seek };
})();
