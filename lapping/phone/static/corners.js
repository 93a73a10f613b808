"use strict";
// Four rings to be dragged to the corners, by thumb, mouse or arrow keys. While one is
// dragged, a glass beside the thumb shows what lies under it.

(function () {
  const stage = document.getElementById("stage");
  const picture = stage.querySelector("img");
  const outline = stage.querySelector("polygon");
  const glass = stage.querySelector("canvas");
  const field = document.getElementById("corners");
  const rings = [...stage.querySelectorAll(".ring")];
  const wide = Number(stage.dataset.width);
  const tall = Number(stage.dataset.height);
  const ZOOM = 2.5;

  function read() {
    const pairs = field.value.match(/[-\d.]+\s*,\s*[-\d.]+/g) || [];
    return pairs.map((pair) => pair.split(",").map(Number));
  }
  let places = read();
  const reset = document.getElementById("reset");
  while (places.length < 4) places.push([wide / 2, tall / 2]);
  const first = places.map((p) => p.slice());
  reset.hidden = false;
  reset.addEventListener("click", () => { places = first.map((p) => p.slice()); draw(); });

  function draw() {
    rings.forEach((ring, i) => {
      ring.hidden = false;
      ring.style.left = `${(100 * places[i][0]) / wide}%`;
      ring.style.top = `${(100 * places[i][1]) / tall}%`;
      // Its name stays inside the picture.
      ring.classList.toggle("low", places[i][1] > 0.75 * tall);
      ring.classList.toggle("at-left", places[i][0] < 0.2 * wide);
      ring.classList.toggle("at-right", places[i][0] > 0.8 * wide);
    });
    outline.setAttribute("points", places.map((p) => p.join(",")).join(" "));
    field.value = places.map((p) => p.map(Math.round).join(",")).join(" ");
  }

  function move(i, x, y) {
    places[i] = [Math.min(wide, Math.max(0, x)), Math.min(tall, Math.max(0, y))];
    draw();
  }

  function show(i) {
    const scale = picture.clientWidth / wide;
    const [x, y] = places[i];
    const ink = glass.getContext("2d");
    const half = glass.width / 2;
    const each = picture.naturalWidth / wide;
    const side = glass.width / ZOOM / scale;
    ink.fillStyle = "#000";
    ink.fillRect(0, 0, glass.width, glass.height);
    ink.drawImage(picture, (x - side / 2) * each, (y - side / 2) * each,
      side * each, side * each, 0, 0, glass.width, glass.height);
    ink.strokeStyle = "#ffb454";
    ink.lineWidth = 2;
    ink.beginPath();
    ink.moveTo(half - 12, half);
    ink.lineTo(half + 12, half);
    ink.moveTo(half, half - 12);
    ink.lineTo(half, half + 12);
    ink.stroke();
    const left = x * scale < picture.clientWidth / 2 ? x * scale + 50 : x * scale - 170;
    const top = y * scale > 150 ? y * scale - 150 : y * scale + 40;
    glass.style.left = `${left}px`;
    glass.style.top = `${top}px`;
    glass.hidden = false;
  }

  rings.forEach((ring, i) => {
    let from = null;
    ring.addEventListener("pointerdown", (event) => {
      ring.setPointerCapture(event.pointerId);
      ring.focus();
      from = { x: event.clientX, y: event.clientY, place: places[i].slice() };
      show(i);
      event.preventDefault();
    });
    ring.addEventListener("pointermove", (event) => {
      if (!from) return;
      const scale = wide / picture.clientWidth;
      move(i, from.place[0] + (event.clientX - from.x) * scale,
        from.place[1] + (event.clientY - from.y) * scale);
      show(i);
    });
    for (const end of ["pointerup", "pointercancel"]) {
      ring.addEventListener(end, () => { from = null; glass.hidden = true; });
    }
    ring.addEventListener("keydown", (event) => {
      const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
      const way = ways[event.key];
      if (!way) return;
      const step = (event.shiftKey ? 0.002 : 0.01) * Math.max(wide, tall);
      move(i, places[i][0] + way[0] * step, places[i][1] + way[1] * step);
      event.preventDefault();
    });
  });
  field.addEventListener("change", () => {
    const said = read();
    if (said.length === 4) { places = said; draw(); }
  });
  draw();
})();
