(function () {
  "use strict";
  var picker = document.getElementById("take");
  var video = document.getElementById("video");
  var player = document.getElementById("player");
  var told = document.getElementById("told");
  var address = "";

  picker.addEventListener("change", function () {
    if (!picker.files.length) { return; }
    if (address) { URL.revokeObjectURL(address); }
    address = URL.createObjectURL(picker.files[0]);
    video.src = address;
    video.hidden = false;
    player.classList.add("ready");
    told.textContent = "Ready. Choose any time on this page to play from there.";
  });

  video.addEventListener("error", function () {
    told.textContent = "This browser cannot play that file. Try another export of the take.";
  });

  document.addEventListener("click", function (event) {
    var place = event.target.closest("[data-at]");
    if (!place || !address || event.ctrlKey || event.metaKey || event.shiftKey) { return; }
    event.preventDefault();
    var at = Number(place.getAttribute("data-at"));
    video.currentTime = Math.max(0, at - 1);
    var playing = video.play();
    if (playing) { playing.catch(function () {}); }
    told.textContent = "Playing from " + (place.textContent.trim().split("\n")[0] || "the chosen time").slice(0, 80);
  });

  document.getElementById("close").addEventListener("click", function () {
    video.pause();
    player.classList.remove("ready");
    video.hidden = true;
    video.removeAttribute("src");
    if (address) { URL.revokeObjectURL(address); }
    address = "";
    picker.value = "";
    told.textContent = "";
  });
})();
