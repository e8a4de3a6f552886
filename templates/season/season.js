"use strict";
// The map, the table and the day beside it. Words of a log reach the page as text alone, never as markup.
(() => {
  const read = (id) => JSON.parse(document.getElementById(id).textContent);
  const days = read("season-days");
  const colours = new Map(read("season-units"));
  const canvas = document.getElementById("ground");
  const table = document.getElementById("table");
  const body = table.tBodies[0];
  const rows = Array.from(body.rows);
  const panel = document.getElementById("day");
  const status = document.getElementById("shown");
  const more = document.getElementById("more");
  const form = document.getElementById("filter");
  const FEW = 300; // rows beyond which a table takes long to lay out
  let all = rows.length <= FEW;
  let chosen = -1;
  let shown = days.map((_, at) => at);

  const make = (name, words, parent) => {
    const one = document.createElement(name);
    if (words !== undefined) one.textContent = words;
    if (parent) parent.append(one);
    return one;
  };

  // --- ground: longitude and latitude on Mercator's projection, in radians
  const RADIUS_M = 6378137; // WGS 84
  const TURN = Math.PI / 180;
  const flat = (lon, lat) => [lon * TURN, Math.asinh(Math.tan(Math.max(-85, Math.min(85, lat)) * TURN))];
  const latOf = (y) => Math.atan(Math.sinh(y)) / TURN;
  let last = null;
  const near = (lon) => {
    // A walk over the 180th meridian goes on, not round the world.
    if (last !== null) lon += 360 * Math.round((last - lon) / 360);
    last = lon;
    return lon;
  };
  for (const day of days) {
    const box = [Infinity, Infinity, -Infinity, -Infinity];
    last = null;
    const place = (lon, lat) => {
      const at = flat(near(lon), lat);
      box[0] = Math.min(box[0], at[0]); box[1] = Math.min(box[1], at[1]);
      box[2] = Math.max(box[2], at[0]); box[3] = Math.max(box[3], at[1]);
      return at;
    };
    day.lines = (day.walk || []).map((line) => line.map((at) => place(at[0], at[1])));
    for (const kind of ["stations", "attitudes", "samples", "hazards"]) {
      for (const one of day[kind] || []) one.at = one.lon === null ? null : place(one.lon, one.lat);
    }
    day.box = box[0] <= box[2] ? box : null;
    day.words = [day.title, day.path, day.dates, day.grid, ...day.people, ...day.letters,
      ...day.samples.map((one) => one.label + " " + one.words), ...day.hazards.map((one) => one.words)]
      .join("\n").toLocaleLowerCase();
  }

  // --- the view
  const view = { x: 0, y: 0, scale: 1 };
  let width = 0, height = 0, ratio = 1;
  const toX = (x) => (x - view.x) * view.scale + width / 2;
  const toY = (y) => (view.y - y) * view.scale + height / 2;
  const MOST = RADIUS_M * 20, LEAST = 40; // pixels a radian: 20 a metre; the whole world

  const fit = (which) => {
    const box = [Infinity, Infinity, -Infinity, -Infinity];
    for (const at of which) {
      const own = days[at].box;
      if (!own) continue;
      box[0] = Math.min(box[0], own[0]); box[1] = Math.min(box[1], own[1]);
      box[2] = Math.max(box[2], own[2]); box[3] = Math.max(box[3], own[3]);
    }
    if (box[0] > box[2]) return;
    view.x = (box[0] + box[2]) / 2;
    view.y = (box[1] + box[3]) / 2;
    const least = 60 / RADIUS_M;
    const margin = Math.min(110, width / 4);
    view.scale = Math.min((width - margin) / Math.max(box[2] - box[0], least), (height - margin) / Math.max(box[3] - box[1], least));
    view.scale = Math.max(LEAST, Math.min(MOST, view.scale));
    draw();
  };
  const zoom = (by, x = width / 2, y = height / 2) => {
    const scale = Math.max(LEAST, Math.min(MOST, view.scale * by));
    view.x += (x - width / 2) * (1 / view.scale - 1 / scale);
    view.y -= (y - height / 2) * (1 / view.scale - 1 / scale);
    view.scale = scale;
    draw();
  };
  const pan = (x, y) => { view.x -= x / view.scale; view.y += y / view.scale; draw(); };

  // --- drawing
  const INK = "#1d2326", SOFT = "#4d585d", ON = "#0b5a8a", MARK = "#8a2f0b";
  let waiting = false;
  const draw = () => {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => { waiting = false; paint(); });
  };
  const nice = (least) => {
    const ten = 10 ** Math.floor(Math.log10(least));
    return ten * [1, 2, 5, 10].find((step) => step * ten >= least);
  };
  const paint = () => {
    const pen = canvas.getContext("2d");
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    pen.clearRect(0, 0, width, height);
    pen.font = "12px system-ui, sans-serif";
    pen.lineJoin = "round";
    graticule(pen);
    const metre = view.scale / (RADIUS_M * Math.cos(latOf(view.y) * TURN)); // pixels
    const small = new Map();
    const seen = [];
    for (const at of shown) {
      const { box } = days[at];
      if (!box || toX(box[2]) < -20 || toX(box[0]) > width + 20 || toY(box[1]) < -20 || toY(box[3]) > height + 20) continue;
      if ((box[2] - box[0]) * view.scale < 8 && (box[3] - box[1]) * view.scale < 8 && at !== chosen) {
        const x = toX((box[0] + box[2]) / 2), y = toY((box[1] + box[3]) / 2);
        const cell = Math.round(x / 30) + ":" + Math.round(y / 30);
        const group = small.get(cell) || { x, y, count: 0 };
        group.count += 1;
        small.set(cell, group);
      } else seen.push(at);
    }
    for (const at of seen) if (at !== chosen) walk(pen, days[at], SOFT, 1.4);
    const detail = metre > 0.15 && seen.length < 150;
    for (const at of seen) if (metre > 0.05 && (detail || at === chosen)) signs(pen, days[at], metre);
    if (chosen >= 0 && shown.includes(chosen)) walk(pen, days[chosen], ON, 3);
    for (const { x, y, count } of small.values()) {
      pen.fillStyle = SOFT;
      pen.beginPath(); pen.arc(x, y, count > 1 ? 9 : 4, 0, 7); pen.fill();
      if (count > 1) label(pen, String(count), x, y + 4, "center", "#ffffff", null);
    }
    if (chosen >= 0 && shown.includes(chosen) && days[chosen].box) {
      const { box, title } = days[chosen];
      label(pen, title, toX((box[0] + box[2]) / 2), toY(box[3]) - 8, "center", ON, "#ffffff");
    }
    scaleBar(pen, metre);
  };
  const walk = (pen, day, colour, thick) => {
    pen.strokeStyle = colour;
    pen.lineWidth = thick;
    pen.beginPath();
    for (const line of day.lines) line.forEach((at, i) => (i ? pen.lineTo(toX(at[0]), toY(at[1])) : pen.moveTo(toX(at[0]), toY(at[1]))));
    pen.stroke();
  };
  const signs = (pen, day, metre) => {
    for (const one of day.stations) {
      if (!one.at) continue;
      pen.fillStyle = colours.get(one.unit) || "#ffffff";
      pen.strokeStyle = INK;
      pen.lineWidth = 1;
      pen.beginPath(); pen.arc(toX(one.at[0]), toY(one.at[1]), 3.5, 0, 7); pen.fill(); pen.stroke();
      if (metre > 0.7) label(pen, one.name, toX(one.at[0]) + 6, toY(one.at[1]) - 5, "left", INK, "#ffffff");
    }
    if (metre > 0.25) for (const one of day.attitudes) if (one.at && one.strike !== null) plane(pen, one);
    for (const one of day.samples) {
      if (!one.at) continue;
      const x = toX(one.at[0]), y = toY(one.at[1]) + 10;
      pen.fillStyle = "#ffffff"; pen.strokeStyle = ON; pen.lineWidth = 1.5;
      pen.fillRect(x - 4, y - 4, 8, 8); pen.strokeRect(x - 4, y - 4, 8, 8);
    }
    for (const one of day.hazards) {
      if (!one.at) continue;
      const x = toX(one.at[0]), y = toY(one.at[1]) - 12;
      pen.fillStyle = MARK;
      pen.beginPath(); pen.moveTo(x, y - 7); pen.lineTo(x + 7, y + 5); pen.lineTo(x - 7, y + 5); pen.closePath(); pen.fill();
    }
  };
  const plane = (pen, one) => {
    // North is up, so a strike from true north is the turn of its sign; the tick goes down the dip.
    pen.save();
    pen.translate(toX(one.at[0]), toY(one.at[1]));
    pen.rotate(one.strike * TURN);
    pen.strokeStyle = INK; pen.lineWidth = 1.6;
    pen.beginPath(); pen.moveTo(0, -10); pen.lineTo(0, 10); pen.moveTo(0, 0); pen.lineTo(5, 0); pen.stroke();
    pen.restore();
  };
  const label = (pen, words, x, y, align, colour, halo) => {
    pen.textAlign = align;
    if (halo) { pen.strokeStyle = halo; pen.lineWidth = 3; pen.strokeText(words, x, y); }
    pen.fillStyle = colour;
    pen.fillText(words, x, y);
  };
  const graticule = (pen) => {
    const step = nice(110 / view.scale / TURN);
    const places = Math.max(0, -Math.floor(Math.log10(step)));
    pen.strokeStyle = "#dde3e5"; pen.lineWidth = 1;
    const west = (view.x - width / 2 / view.scale) / TURN, east = (view.x + width / 2 / view.scale) / TURN;
    const south = latOf(view.y - height / 2 / view.scale), north = latOf(view.y + height / 2 / view.scale);
    for (let i = Math.ceil(west / step); i * step <= east; i += 1) {
      const x = toX(i * step * TURN), lon = ((i * step + 540) % 360 + 360) % 360 - 180;
      pen.beginPath(); pen.moveTo(x, 0); pen.lineTo(x, height); pen.stroke();
      label(pen, Math.abs(lon).toFixed(places) + "°" + (lon < 0 ? " W" : " E"), x + 3, height - 4, "left", SOFT, null);
    }
    for (let i = Math.ceil(south / step); i * step <= north; i += 1) {
      const y = toY(flat(0, i * step)[1]);
      pen.beginPath(); pen.moveTo(0, y); pen.lineTo(width, y); pen.stroke();
      label(pen, Math.abs(i * step).toFixed(places) + "°" + (i < 0 ? " S" : " N"), 3, y - 3, "left", SOFT, null);
    }
  };
  const scaleBar = (pen, metre) => {
    const length = nice(80 / metre);
    const words = length >= 1000 ? length / 1000 + " km" : length + " m";
    const x = width - 14 - length * metre, y = height - 26;
    pen.strokeStyle = INK; pen.lineWidth = 2;
    pen.beginPath(); pen.moveTo(x, y - 5); pen.lineTo(x, y); pen.lineTo(x + length * metre, y); pen.lineTo(x + length * metre, y - 5); pen.stroke();
    label(pen, words + ", north up", width - 14, y - 8, "right", INK, "#ffffff");
  };
  const size = (sharper = 1) => {
    width = canvas.clientWidth;
    height = canvas.clientHeight;
    ratio = (window.devicePixelRatio || 1) * sharper;
    canvas.width = Math.round(width * ratio);
    canvas.height = Math.round(height * ratio);
  };

  // --- moving about
  const KEYS = {
    ArrowLeft: () => pan(60, 0), ArrowRight: () => pan(-60, 0), ArrowUp: () => pan(0, 60), ArrowDown: () => pan(0, -60),
    "+": () => zoom(1.5), "=": () => zoom(1.5), "-": () => zoom(1 / 1.5), "0": () => fit(shown),
    Home: () => fit(shown), PageDown: () => step(1), PageUp: () => step(-1),
  };
  canvas.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || !KEYS[event.key]) return;
    event.preventDefault();
    KEYS[event.key]();
  });
  const step = (by) => {
    const order = visible();
    if (order.length) choose(order[(order.indexOf(chosen) + by + order.length) % order.length], false);
  };
  canvas.addEventListener("wheel", (event) => {
    // The page scrolls on over the map until the map is being used.
    if (document.activeElement !== canvas && !event.ctrlKey) return;
    event.preventDefault();
    zoom(Math.exp(-event.deltaY / 400), event.offsetX, event.offsetY);
  }, { passive: false });
  const held = new Map();
  let moved = 0;
  const apart = () => {
    const [first, second] = [...held.values()];
    return Math.hypot(first.x - second.x, first.y - second.y);
  };
  canvas.addEventListener("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    held.set(event.pointerId, { x: event.offsetX, y: event.offsetY });
    moved = 0;
  });
  canvas.addEventListener("pointermove", (event) => {
    const from = held.get(event.pointerId);
    if (!from) return;
    const before = held.size === 2 ? apart() : 0;
    moved += Math.abs(event.offsetX - from.x) + Math.abs(event.offsetY - from.y);
    held.set(event.pointerId, { x: event.offsetX, y: event.offsetY });
    if (held.size === 2) zoom(apart() / Math.max(1, before));
    else pan(event.offsetX - from.x, event.offsetY - from.y);
  });
  for (const end of ["pointerup", "pointercancel"]) {
    canvas.addEventListener(end, (event) => {
      held.delete(event.pointerId);
      if (end === "pointerup" && moved < 5) pick(event.offsetX, event.offsetY);
    });
  }
  const pick = (x, y) => {
    let best = 12, found = -1, crowd = [];
    for (const at of shown) {
      const { box, lines } = days[at];
      if (!box) continue;
      if (toX(box[2]) < x - 20 || toX(box[0]) > x + 20 || toY(box[1]) < y - 20 || toY(box[3]) > y + 20) continue;
      if ((box[2] - box[0]) * view.scale < 8) crowd.push(at);
      const corners = lines.length ? lines : [[[(box[0] + box[2]) / 2, (box[1] + box[3]) / 2]]];
      for (const line of corners) {
        line.forEach((to, i) => {
          const from = line[Math.max(0, i - 1)];
          const [ax, ay, bx, by] = [toX(from[0]), toY(from[1]), toX(to[0]), toY(to[1])];
          const run = (bx - ax) ** 2 + (by - ay) ** 2;
          const share = run ? Math.max(0, Math.min(1, ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / run)) : 0;
          const off = Math.hypot(x - ax - share * (bx - ax), y - ay - share * (by - ay));
          if (off < best) { best = off; found = at; }
        });
      }
    }
    if (crowd.length > 1) fit(crowd);
    else if (found >= 0) choose(found, false);
  };

  // --- a day, beside
  const facts = (list, name, words, bad) => {
    if (words === null || words === "") return;
    make("dt", name, list);
    const cell = make("dd", String(words), list);
    cell.dir = "auto";
    if (bad) cell.className = "bad";
  };
  const listed = (name, items) => {
    if (!items.length) return;
    make("h4", name, panel);
    const list = make("ul", undefined, panel);
    for (const words of items) make("li", words, list).dir = "auto";
  };
  const choose = (at, go) => {
    if (chosen >= 0) rowOf[chosen].removeAttribute("aria-current");
    chosen = at;
    const day = days[at];
    rowOf[at].setAttribute("aria-current", "true");
    panel.hidden = false;
    panel.parentElement.classList.remove("alone");
    panel.replaceChildren();
    const head = make("h3", day.title, panel);
    head.dir = "auto";
    head.tabIndex = -1;
    const list = make("dl", undefined, panel);
    facts(list, "Log", day.path);
    if (day.standing !== "counted") facts(list, "Standing", day.stands, true);
    facts(list, "Day", day.dates);
    facts(list, "Party", day.people.join(", "));
    facts(list, "Area", day.area);
    facts(list, "Grid", day.grid);
    facts(list, "Walked", day.walked);
    facts(list, "Closes", day.closes, day.poor);
    facts(list, "Not adjusted", day.caution, true);
    const ways = make("p", undefined, panel);
    const link = (where, words) => {
      const one = make("a", words, ways);
      one.href = where;
      ways.append(" ");
    };
    if (day.sheet) {
      link(day.sheet, "Sheet (PDF)");
      const inside = make("button", "Show it here", ways);
      inside.type = "button";
      inside.addEventListener("click", () => {
        const frame = make("iframe", undefined, panel);
        frame.title = "Sheet of " + day.title;
        frame.src = day.sheet;
        ways.after(frame);
        inside.remove();
      });
      ways.append(" ");
    }
    if (day.href) link(day.href, "Log (text)");
    listed("Hazards noticed", day.hazards.map((one) => one.mark + ", station " + one.station + ": " + one.words));
    listed("Closures", day.closures);
    listed("Attitudes by unit", day.tally);
    listed("Samples", day.samples.map((one) => one.label + ", station " + one.station + (one.words ? ": " + one.words : "")));
    listed("Errors and warnings", day.messages);
    listed("Answered by checked", day.answered);
    if (go && day.box) fit([at]);
    else draw();
    return head;
  };

  // --- the table
  const rowOf = [];
  for (const row of rows) rowOf[Number(row.dataset.day)] = row;
  const visible = () => Array.from(body.rows).filter((row) => !row.hidden).map((row) => Number(row.dataset.day));
  const field = (name) => form.elements[name].value;
  const STATES = {
    poor: (day) => day.poor, open: (day) => day.warnings > 0, hazards: (day) => day.hazards.length > 0,
    unplaced: (day) => day.standing === "counted" && !day.box, bad: (day) => day.standing !== "counted",
  };
  const filter = () => {
    const words = field("words").toLocaleLowerCase().split(/\s+/).filter(Boolean);
    const [who, unit, grid, state, from, until] = ["who", "unit", "grid", "state", "from", "until"].map(field);
    const keep = (day) => words.every((word) => day.words.includes(word))
      && (!who || day.people.includes(who)) && (!unit || day.letters.includes(unit)) && (!grid || day.grid === grid)
      && (!state || STATES[state](day)) && (!from || (day.last && day.last >= from)) && (!until || (day.first && day.first <= until));
    const kept = new Set(days.keys());
    days.forEach((day, at) => { if (!keep(day)) kept.delete(at); });
    shown = [...kept];
    let count = 0;
    for (const row of body.rows) {
      const inside = kept.has(Number(row.dataset.day));
      count += inside;
      row.hidden = !inside || (!all && count > FEW);
    }
    const rest = all ? 0 : Math.max(0, count - FEW);
    more.hidden = !rest;
    more.textContent = "Show the other " + rest;
    status.textContent = count + (count === 1 ? " log" : " logs") + (count < days.length ? " of " + days.length : "") + (rest ? ", the first " + FEW + " shown" : "");
  };
  const changed = () => { filter(); fit(shown); draw(); };
  let typed = 0;
  form.addEventListener("input", () => { clearTimeout(typed); typed = setTimeout(changed, 120); });
  form.addEventListener("submit", (event) => { event.preventDefault(); changed(); });
  form.addEventListener("reset", () => setTimeout(changed, 0));
  more.addEventListener("click", () => { all = true; filter(); });
  const order = new Intl.Collator(undefined, { numeric: true });
  const heads = Array.from(table.tHead.rows[0].cells);
  heads.forEach((head, column) => {
    head.querySelector("button").addEventListener("click", () => {
      const up = head.getAttribute("aria-sort") !== "ascending";
      for (const one of heads) one.removeAttribute("aria-sort");
      head.setAttribute("aria-sort", up ? "ascending" : "descending");
      const figure = head.classList.contains("n");
      const keyed = Array.from(body.rows, (row) => {
        const cell = row.cells[column];
        const words = cell.dataset.key !== undefined ? cell.dataset.key : cell.textContent;
        return { row, key: figure ? (words === "" ? null : Number(words)) : words };
      });
      keyed.sort((one, two) => {
        if (one.key === null || one.key === "") return two.key === null || two.key === "" ? 0 : 1; // nothing stands last
        if (two.key === null || two.key === "") return -1;
        const by = figure ? one.key - two.key : order.compare(one.key, two.key);
        return up ? by : -by;
      });
      body.append(...keyed.map((one) => one.row));
      filter();
    });
  });
  body.addEventListener("click", (event) => {
    const button = event.target.closest(".pick");
    if (button) choose(Number(button.closest("tr").dataset.day), true).focus({ preventScroll: window.innerWidth > 960 });
  });

  document.getElementById("closer").addEventListener("click", () => zoom(1.5));
  document.getElementById("farther").addEventListener("click", () => zoom(1 / 1.5));
  document.getElementById("whole").addEventListener("click", () => fit(shown));
  document.getElementById("one").addEventListener("click", () => { if (chosen >= 0) fit([chosen]); });
  window.addEventListener("beforeprint", () => { size(3); paint(); });
  window.addEventListener("afterprint", () => { size(); paint(); });
  new ResizeObserver(() => { size(); draw(); }).observe(canvas);
  for (const one of document.querySelectorAll("[data-script]")) one.hidden = false;
  size();
  filter();
  fit(shown);
})();
