// The map to move about in: buttons beside each ruler, arrow keys and clicks on the map -> a new
// place, and everything drawn and said again for it.
const liveMap = (() => {
  const MOST_CELLS = 70; // along one side of the map; with more marks every second one is drawn
  const [LIKELY, SURE] = [0.5, 0.9];
  const FRAME = { top: 14, bottom: 46 };
  const GAP = 8; // between letters and what is next to them
  const [LETTER, SIDE] = [14, 30]; // height of a letter; room beside a ruler
  const FONT = `${LETTER}px "DejaVu Sans", Verdana, Arial, sans-serif`;

  const settingsOf = (m, marks) => marks.map((mark, j) => m.factors[j].marks[mark]);

  function chance(p) {
    if (p > 0.995) return "over 0.99";
    return p < 0.005 ? "under 0.01" : p.toFixed(2);
  }

  const near = (factor, value) => String(Number(value.toFixed(factor.places)));

  // What is drawn at a mark: its window, or what fails there.
  function kindOf(m, settings) {
    const found = liveNumbers.at(m, settings);
    if (!found) return "untried";
    if (found.inWindow >= SURE) return "sure";
    return found.inWindow >= LIKELY ? "likely" : liveNumbers.weakest(m, settings);
  }

  // Too little leans down, too much leans up, other rejects are dotted, and where nothing was tried
  // lies an upright grid: the areas differ without their colors.
  function hatch(pen, look, kind) {
    const side = look.sides[kind];
    const [color, lean] = side ? [side.color, side.lean] : [look.untried, "upright"];
    const tile = document.createElement("canvas");
    tile.width = tile.height = 10;
    const ink = tile.getContext("2d");
    ink.strokeStyle = ink.fillStyle = color;
    if (lean === "dots") ink.fillRect(4, 4, 3, 3);
    if (lean === "upright") ink.rect(0.5, 0.5, 10, 10);
    for (const way of { down: [-1], up: [1] }[lean] || []) {
      for (const shift of [-10, 0, 10]) {
        ink.moveTo(shift, way > 0 ? 10 : 0);
        ink.lineTo(shift + 10, way > 0 ? 0 : 10);
      }
    }
    ink.stroke();
    return pen.createPattern(tile, "repeat");
  }

  function paints(pen, look) {
    const kinds = { sure: look.sure, likely: look.likely, untried: hatch(pen, look, "untried") };
    for (const name of Object.keys(look.sides)) kinds[name] = hatch(pen, look, name);
    return kinds;
  }

  const pixels = (canvas) => Math.round(canvas.clientWidth * devicePixelRatio);

  // A canvas is drawn as wide as it is shown: a picture made smaller for a phone would have letters
  // that nobody can read.
  function clear(canvas, look) {
    canvas.width = pixels(canvas);
    canvas.height = Math.round(canvas.clientHeight * devicePixelRatio);
    const pen = canvas.getContext("2d");
    pen.scale(devicePixelRatio, devicePixelRatio);
    pen.fillStyle = look.paper;
    pen.fillRect(0, 0, canvas.clientWidth, canvas.clientHeight);
    pen.font = FONT;
    pen.lineWidth = 1;
    pen.fillStyle = pen.strokeStyle = look.ink;
    return pen;
  }

  const widest = (pen, factor) =>
    Math.max(...factor.texts.map((text) => pen.measureText(text).width));

  // Every so many marks get a number, so that numbers do not touch: `each` is the room of one.
  function numbered(factor, each, room) {
    const every = Math.ceil((factor.marks.length * (each + GAP)) / room);
    return factor.texts.map((text, mark) => [mark, text]).filter(([mark]) => mark % every === 0);
  }

  const shown = (factor, here) => {
    const every = Math.ceil(factor.marks.length / MOST_CELLS);
    return { every, marks: factor.marks.map((_, i) => i).filter((i) => i % every === here % every) };
  };

  function drawMap(m, canvas, marks) {
    const pen = clear(canvas, m.look);
    const [across, up] = m.axes.map((j) => m.factors[j]);
    const [left, right] = [LETTER + 2 * GAP + widest(pen, up) + GAP, widest(pen, across) / 2];
    const frame = {
      left,
      top: FRAME.top,
      wide: canvas.clientWidth - left - right,
      high: canvas.clientHeight - FRAME.top - FRAME.bottom,
    };
    const [width, height] = [frame.wide / across.marks.length, frame.high / up.marks.length];
    const x = (mark) => frame.left + mark * width;
    const y = (mark) => frame.top + frame.high - (mark + 1) * height;
    const fills = paints(pen, m.look);
    const [columns, rows] = [shown(across, marks[m.axes[0]]), shown(up, marks[m.axes[1]])];
    const [wide, high] = [columns.every * width, rows.every * height];
    const cells = columns.marks.map((column) =>
      rows.marks.map((row) => {
        const there = marks.with(m.axes[0], column).with(m.axes[1], row);
        const kind = kindOf(m, settingsOf(m, there));
        const corner = { left: x(column), top: y(row) + height - high };
        pen.fillStyle = fills[kind];
        pen.fillRect(corner.left, corner.top, wide + 0.5, high + 0.5);
        return { kind, ...corner };
      }),
    );
    outline(pen, m.look, cells, ["sure"], [wide, high]);
    outline(pen, m.look, cells, ["sure", "likely"], [wide, high]);
    pen.strokeRect(frame.left, frame.top, frame.wide, frame.high);
    mapNumbers(m, pen, frame, { x, y, width, height });
    cross(pen, m.look, x(marks[m.axes[0]]) + width / 2, y(marks[m.axes[1]]) + height / 2, frame);
    return { x, y, width, height };
  }

  // A whole line around the sure window, a dashed one around the likely one: prints are grey.
  function outline(pen, look, cells, kinds, [wide, high]) {
    const holds = (c, r) => kinds.includes(cells[c]?.[r]?.kind);
    pen.save();
    pen.strokeStyle = look.line;
    pen.lineWidth = kinds.length > 1 ? 1.5 : 2.5;
    pen.setLineDash(kinds.length > 1 ? [5, 4] : []);
    pen.beginPath();
    cells.forEach((column, c) =>
      column.forEach(({ left, top }, r) => {
        if (holds(c, r) !== holds(c - 1, r)) line(pen, left, top, 0, high);
        if (holds(c, r) !== holds(c, r - 1)) line(pen, left, top + high, wide, 0);
      }),
    );
    pen.stroke();
    pen.restore();
  }

  function line(pen, x, y, right, down) {
    pen.moveTo(x, y);
    pen.lineTo(x + right, y + down);
  }

  function mapNumbers(m, pen, frame, { x, y, width, height }) {
    const [across, up] = m.axes.map((j) => m.factors[j]);
    const below = frame.top + frame.high + GAP + LETTER;
    pen.fillStyle = m.look.ink;
    pen.textAlign = "center";
    for (const [mark, text] of numbered(across, widest(pen, across), frame.wide)) {
      pen.fillText(text, x(mark) + width / 2, below);
    }
    title(pen, across, frame.left + frame.wide / 2, below + LETTER + GAP / 2, frame.wide);
    pen.textAlign = "right";
    for (const [mark, text] of numbered(up, 2 * LETTER, frame.high)) {
      pen.fillText(text, frame.left - GAP, y(mark) + height / 2 + 5);
    }
    pen.save();
    pen.translate(LETTER + 2, frame.top + frame.high / 2);
    pen.rotate(-Math.PI / 2);
    title(pen, up, 0, 0, frame.high);
    pen.restore();
  }

  function title(pen, factor, x, y, room) {
    pen.textAlign = "center";
    pen.fillText(`${factor.name} (${factor.unit})`, x, y, room);
  }

  // The place: a ring on cross hairs, as the setpoint in the other pictures.
  function cross(pen, look, x, y, frame) {
    pen.strokeStyle = look.ink;
    pen.beginPath();
    line(pen, x, frame.top, 0, frame.high);
    line(pen, frame.left, y, frame.wide, 0);
    pen.stroke();
    ring(pen, look, x, y, 9);
  }

  function ring(pen, look, x, y, radius) {
    for (const [color, line] of [[look.paper, 6], [look.ink, 3]]) {
      pen.beginPath();
      pen.strokeStyle = color;
      pen.lineWidth = line;
      pen.arc(x, y, radius, 0, 2 * Math.PI);
      pen.stroke();
    }
    pen.lineWidth = 1;
  }

  // A ruler: what lies on the dial, and above it the bands of both edges.
  function drawRuler(m, canvas, marks, j, edges) {
    const pen = clear(canvas, m.look);
    const factor = m.factors[j];
    const room = canvas.clientWidth - 2 * SIDE;
    const width = room / factor.marks.length;
    const x = (mark) => SIDE + mark * width;
    const fills = paints(pen, m.look);
    factor.marks.forEach((_, mark) => {
      pen.fillStyle = fills[kindOf(m, settingsOf(m, marks.with(j, mark)))];
      pen.fillRect(x(mark), 26, width + 0.5, 20);
    });
    pen.strokeRect(SIDE, 26, room, 20);
    pen.fillStyle = m.look.ink;
    pen.textAlign = "center";
    const words = new Map(numbered(factor, widest(pen, factor), room));
    factor.marks.forEach((_, mark) => {
      const middle = x(mark) + width / 2;
      pen.fillRect(middle - 0.5, 46, 1, words.has(mark) ? 8 : 4);
      if (words.has(mark)) pen.fillText(words.get(mark), middle, 68);
    });
    const place = (value) => x((value - factor.low) / factor.step) + width / 2;
    for (const edge of edges) drawEdge(m, pen, factor, edge, place);
    ring(pen, m.look, x(marks[j]) + width / 2, 36, 7);
  }

  // Thin holds the edge with a chance of 0.9, thick with 0.5; an open end runs off the ruler. What
  // fails at an edge that was not seen is not known, so that its bands have no color.
  function drawEdge(m, pen, factor, edge, place) {
    const beyond = edge.side === "low" ? factor.low - factor.step : factor.high + factor.step;
    pen.fillStyle = edge.median === null ? m.look.ink : m.look.sides[edge.response].color;
    for (const [band, high] of [[edge.band90, 2], [edge.band50, 6]]) {
      const [from, to] = band.map((end) => place(end === null ? beyond : end));
      pen.fillRect(from, 14 - high / 2, to - from, high);
    }
    if (edge.median !== null) pen.fillRect(place(edge.median) - 1, 6, 2, 40);
  }

  function edgeWords(m, settings, edge) {
    const factor = m.factors[edge.factor];
    const way = edge.side === "low" ? "down" : "up";
    if (edge.median === null) return `${way}: no edge in what was tried`;
    const [low, high] = edge.band90.map((end) => (end === null ? ".." : near(factor, end)));
    const away = Math.abs(edge.median - settings[edge.factor]);
    const marks = Math.floor(away / factor.step + 1e-6);
    const side = m.look.sides[edge.response].name;
    return (
      `${way}: ${side} at ${near(factor, edge.median)} (0.9: ${low} to ${high}), ` +
      `margin ${near(factor, away)} ${factor.bare}, ${marks} ${marks === 1 ? "mark" : "marks"}`
    );
  }

  function start(root, data) {
    const m = liveNumbers.model(data);
    const part = (name) => root.querySelector(`[data-part="${name}"]`);
    const dials = m.factors.map((_, j) => root.querySelector(`[data-factor="${j}"]`));
    const map = part("map");
    let marks = [...m.start];
    let drawn = null;

    function show() {
      const settings = settingsOf(m, marks);
      const found = liveNumbers.at(m, settings);
      const inside = found !== null && found.inWindow >= LIKELY;
      const edges = inside ? liveNumbers.edges(m, settings) : [];
      part("said").textContent = found
        ? `Chance of a good shot ${chance(found.good)}; chance that this setting lies in the ` +
          `window ${chance(found.inWindow)}.` +
          (inside ? "" : ` It fails as ${m.look.sides[liveNumbers.weakest(m, settings)].name}.`)
        : "No answer: not tried, or ruled out.";
      dials.forEach((dial, j) => showDial(dial, j, edges, inside));
      if (map) drawn = drawMap(m, map, marks);
    }

    function showDial(dial, j, edges, inside) {
      const factor = m.factors[j];
      const own = edges.filter((edge) => edge.factor === j);
      const [down, up] = dial.querySelectorAll("button");
      dial.querySelector("output").textContent = `${factor.texts[marks[j]]} ${factor.unit}`;
      // a button that is switched off would lose the focus of the keyboard
      down.setAttribute("aria-disabled", String(marks[j] === 0));
      up.setAttribute("aria-disabled", String(marks[j] === factor.marks.length - 1));
      const settings = settingsOf(m, marks);
      const words = own.map((edge) => edgeWords(m, settings, edge)).join("; ");
      const none = inside ? "the same in all shots" : "outside of the likely window";
      dial.querySelector("[data-part=edges]").textContent = words || none;
      drawRuler(m, dial.querySelector("canvas"), marks, j, own);
    }

    function move(j, by) {
      const wanted = Math.min(Math.max(marks[j] + by, 0), m.factors[j].marks.length - 1);
      if (wanted === marks[j]) return;
      marks = marks.with(j, wanted);
      show();
    }

    dials.forEach((dial, j) => {
      const [down, up] = dial.querySelectorAll("button");
      down.addEventListener("click", () => move(j, -1));
      up.addEventListener("click", () => move(j, 1));
    });
    part("back").addEventListener("click", () => {
      marks = [...m.start];
      show();
    });
    if (map) {
      const keys = { ArrowLeft: [0, -1], ArrowRight: [0, 1], ArrowDown: [1, -1], ArrowUp: [1, 1] };
      part("area").addEventListener("keydown", (event) => {
        if (!(event.key in keys)) return;
        event.preventDefault();
        const [axis, by] = keys[event.key];
        move(m.axes[axis], by);
      });
      map.addEventListener("click", (event) => {
        const across = Math.floor((event.offsetX - drawn.x(0)) / drawn.width);
        const up = Math.floor((drawn.y(-1) - event.offsetY) / drawn.height);
        const [a, b] = m.axes;
        const far = (j, wanted) =>
          Math.min(Math.max(wanted, 0), m.factors[j].marks.length - 1);
        marks = marks.with(a, far(a, across)).with(b, far(b, up));
        show();
      });
    }
    const ruler = dials[0].querySelector("canvas");
    window.addEventListener("resize", () => {
      if (ruler.clientWidth && ruler.width !== pixels(ruler)) show(); // on paper there is none
    });
    root.hidden = false; // first: what is hidden has no width
    show();
  }

  return { start };
})();
if (typeof document !== "undefined") {
  const root = document.getElementById("live");
  liveMap.start(root, JSON.parse(document.getElementById("live-data").textContent));
}
