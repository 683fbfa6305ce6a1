"use strict";
(() => {
  const by = (id) => document.getElementById(id);
  const { words, rows } = JSON.parse(by("data").textContent);
  const JOB = 0, SERIAL = 1, MODEL = 2, DAY = 3, STATE = 4, HOLDS = 5, QUERIES = 6, SHEETS = 7,
    WORST = 8, FOLDER = 9;
  const states = ["made", "failed"];
  const text = {
    [JOB]: (row) => row[JOB], [SERIAL]: (row) => row[SERIAL], [MODEL]: (row) => words[row[MODEL]],
    [DAY]: (row) => row[DAY], [STATE]: (row) => states[row[STATE]],
    [SHEETS]: (row) => row[SHEETS].map((word) => words[word]).join(" "),
    [WORST]: (row) => row[WORST].map((word) => words[word]).join("; "),
  };
  const columns = [
    ["job", "Job", JOB], ["serial", "Serial", SERIAL], ["model", "Model", MODEL],
    ["date", "Opened", DAY], ["state", "State", STATE], ["holds", "Holds", HOLDS],
    ["queries", "Queries", QUERIES], ["sheets", "Sheets", SHEETS], ["worst", "Worst findings", WORST],
  ];
  const view = by("view"), all = by("all"), head = by("head"), grid = by("table");
  const hay = rows.map((row) =>
    Object.values(text).map((of) => of(row)).join("\n").toLowerCase());
  const ranks = new Map();  // place of every row in the order of a column, worked out when asked for
  const collator = new Intl.Collator("en", { numeric: true, sensitivity: "base" });
  let shown = rows.map((_, place) => place);
  let sort = { column: JOB, down: false };
  let now = -1, high = 34, drawn = "";

  function rank(column) {
    if (!ranks.has(column)) {
      let of = (row) => row[column];
      if (column in text) {
        const given = [...new Set(rows.map(text[column]))].sort(collator.compare);
        const place = new Map(given.map((words_, index) => [words_, index]));
        of = (row) => place.get(text[column](row));
      }
      ranks.set(column, Float64Array.from(rows, of));
    }
    return ranks.get(column);
  }

  function choose() {
    const terms = by("search").value.toLowerCase().split(/\s+/).filter(Boolean);
    const model = by("model").value, state = by("state").value, held = by("held").checked;
    const found = [];
    for (let place = 0; place < rows.length; place += 1) {
      const row = rows[place];
      if ((held && !row[HOLDS]) || (model !== "" && row[MODEL] !== Number(model))) continue;
      if (state !== "" && row[STATE] !== Number(state)) continue;
      if (terms.every((term) => hay[place].includes(term))) found.push(place);
    }
    const first = rank(sort.column), sign = sort.down ? -1 : 1;
    found.sort((a, b) => sign * (first[a] - first[b]) || a - b);
    shown = found;
    now = -1;
    view.scrollTop = 0;
    by("count").textContent = `${shown.length} of ${rows.length} jobs`;
    grid.setAttribute("aria-rowcount", String(shown.length + 1));
    measure();
  }

  function measure() {
    high = parseFloat(getComputedStyle(document.documentElement).getPropertyValue("--high")) || 34;
    all.style.height = `${shown.length * high}px`;
    drawn = "";
    draw();
  }

  function draw() {
    const first = Math.max(0, Math.floor(view.scrollTop / high) - 4);
    const last = Math.min(shown.length, Math.ceil((view.scrollTop + view.clientHeight) / high) + 4);
    const key = `${first} ${last} ${now}`;
    if (key === drawn) return;
    drawn = key;
    const made = [];
    for (let index = first; index < last; index += 1) made.push(line(index));
    all.replaceChildren(...made);
    if (now >= 0) view.setAttribute("aria-activedescendant", `row-${now}`);
    else view.removeAttribute("aria-activedescendant");
  }

  function line(index) {
    const row = rows[shown[index]], made = element("div", "row", "row");
    made.id = `row-${index}`;
    made.style.top = `${index * high}px`;
    made.setAttribute("aria-rowindex", String(index + 2));
    if (row[STATE]) made.classList.add("failed");
    if (row[HOLDS]) made.classList.add("held");
    if (index === now) {
      made.classList.add("now");
      made.setAttribute("aria-selected", "true");
    }
    for (const [name, , column] of columns) {
      const cell = element("div", name, "gridcell");
      if (column === JOB) cell.append(link(row[JOB], folder(row)));
      else if (column === SHEETS) cell.append(...row[SHEETS].map((word) => page(row, words[word])));
      else if (column === HOLDS || column === QUERIES) {
        cell.classList.add("number");
        const sign = column === HOLDS ? "\u25a0 " : "\u25c7 ";
        cell.textContent = row[STATE] ? "\u2013" : row[column] ? sign + row[column] : "0";
      } else {
        cell.textContent = text[column](row);
        cell.title = cell.textContent;
      }
      made.append(cell);
    }
    return made;
  }

  function element(tag, name, role) {
    const made = document.createElement(tag);
    made.className = name;
    made.setAttribute("role", role);
    return made;
  }

  function folder(row) {
    const steps = (row[FOLDER] ?? row[JOB]).split("/").map(encodeURIComponent);
    return `./${steps.join("/")}/`;
  }

  function link(words_, to) {
    const made = document.createElement("a");
    made.textContent = words_;
    made.setAttribute("href", to);
    return made;
  }

  const page = (row, sheet) => link(sheet, `${folder(row)}${encodeURIComponent(sheet)}.html`);

  function move(to) {
    if (!shown.length) return;
    now = Math.max(0, Math.min(shown.length - 1, to));
    const top = now * high;
    if (top < view.scrollTop) view.scrollTop = top;
    else if (top + high > view.scrollTop + view.clientHeight) {
      view.scrollTop = top + high - view.clientHeight;
    }
    draw();
  }

  function open() {
    if (now < 0) return;
    const row = rows[shown[now]];
    const sheet = row[SHEETS].length ? words[row[SHEETS][0]] : "";
    location.href = sheet ? `${folder(row)}${encodeURIComponent(sheet)}.html` : folder(row);
  }

  for (const [name, title, column] of columns) {
    const cell = element("div", name, "columnheader"), button = document.createElement("button");
    button.type = "button";
    button.addEventListener("click", () => {
      const numbers = column === HOLDS || column === QUERIES;
      sort = { column, down: sort.column === column ? !sort.down : numbers };
      label();
      choose();
    });
    cell.append(button);
    head.append(cell);
    cell.dataset.column = String(column);
    button.dataset.title = title;
  }

  function label() {
    for (const cell of head.children) {
      const own = Number(cell.dataset.column) === sort.column, button = cell.firstChild;
      cell.setAttribute("aria-sort", own ? (sort.down ? "descending" : "ascending") : "none");
      button.textContent = button.dataset.title + (own ? (sort.down ? " \u25bc" : " \u25b2") : "");
    }
  }

  const models = [...new Set(rows.map((row) => row[MODEL]))];
  models.sort((a, b) => collator.compare(words[a], words[b]));
  for (const model of models) {
    const option = document.createElement("option");
    option.value = String(model);
    option.textContent = words[model] || "(none)";
    by("model").append(option);
  }
  by("search").addEventListener("input", choose);
  for (const id of ["model", "state", "held"]) by(id).addEventListener("change", choose);
  view.addEventListener("scroll", draw, { passive: true });
  addEventListener("resize", measure);
  view.addEventListener("keydown", (event) => {
    if (event.target !== view || event.ctrlKey || event.altKey || event.metaKey) return;
    const screen = Math.max(1, Math.floor(view.clientHeight / high) - 1);
    const to = {
      ArrowDown: now + 1, ArrowUp: now - 1, PageDown: now + screen, PageUp: now - screen,
      Home: 0, End: shown.length - 1,
    }[event.key];
    if (event.key === "Enter") open();
    else if (to === undefined) return;
    else move(to);
    event.preventDefault();
  });
  addEventListener("keydown", (event) => {
    const typing = /^(INPUT|SELECT)$/.test(event.target.tagName);
    if (event.key === "/" && !typing) {
      event.preventDefault();
      by("search").focus();
    } else if (event.key === "Escape") {
      by("search").value = by("model").value = by("state").value = "";
      by("held").checked = false;
      choose();
    } else if (event.key === "ArrowDown" && event.target === by("search")) {
      event.preventDefault();
      view.focus();
      move(0);
    }
  });
  label();
  choose();
})();
