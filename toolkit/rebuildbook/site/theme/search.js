"use strict";
(() => {
  const input = document.getElementById("search"), list = document.getElementById("found");
  const most = 30, around = 60;
  let rows = null, asked = false;

  // wide screens show the contents; a phone opens them
  const contents = document.getElementById("contents");
  const wide = window.matchMedia("(min-width: 60em)");
  const unfold = () => { contents.open = wide.matches; };
  wide.addEventListener("change", unfold);
  unfold();

  function load() {
    if (asked) return;
    asked = true;
    const script = document.createElement("script");  // fetch is refused to a page from a folder
    script.src = "search-index.js";
    script.addEventListener("load", () => {
      rows = window.searchIndex.map(([address, page, title, words]) =>
        ({ address, page, title, words, head: title.toLowerCase(),
          hay: `${page}\n${title}\n${words}`.toLowerCase() }));
      show();
    });
    document.head.append(script);
  }

  function score(row, terms) {
    let sum = 0;
    for (const term of terms) {
      const at = row.hay.indexOf(term);
      if (at < 0) return 0;
      sum += row.head === term ? 40 : row.head.includes(term) ? 12 : 1;
      let from = at;
      for (let more = 0; more < 4 && from >= 0; more += 1) {
        from = row.hay.indexOf(term, from + 1);
        if (from >= 0) sum += 1;
      }
    }
    return sum;
  }

  function excerpt(row, term) {
    const at = row.words.toLowerCase().indexOf(term);
    const from = Math.max(0, at - around);
    const text = row.words.slice(from, from + 3 * around);
    return `${from > 0 ? "…" : ""}${text}${row.words.length > from + 3 * around ? "…" : ""}`;
  }

  function show() {
    const terms = input.value.toLowerCase().split(/\s+/).filter(Boolean);
    list.hidden = terms.length === 0;
    if (rows === null || terms.length === 0) return;
    const found = rows.map((row) => [score(row, terms), row]).filter(([sum]) => sum > 0);
    found.sort((a, b) => b[0] - a[0]);
    list.replaceChildren(...found.slice(0, most).map(([, row]) => {
      const item = document.createElement("li"), link = document.createElement("a");
      const small = document.createElement("small");
      link.href = row.address;
      link.textContent = row.title === row.page ? row.page : `${row.page}: ${row.title}`;
      small.textContent = excerpt(row, terms[0]);
      item.append(link, small);
      return item;
    }));
    if (found.length === 0) {
      const none = document.createElement("li");
      none.textContent = "Nothing found; try one word.";
      list.append(none);
    }
  }

  input.addEventListener("focus", load);
  input.addEventListener("input", () => { load(); show(); });
  document.addEventListener("keydown", (event) => {
    const links = [...list.querySelectorAll("a")];
    if (event.key === "/" && document.activeElement !== input) {
      event.preventDefault();
      input.focus();
    } else if (event.key === "Escape") {
      list.hidden = true;
    } else if ((event.key === "ArrowDown" || event.key === "ArrowUp") && !list.hidden &&
        (document.activeElement === input || links.includes(document.activeElement))) {
      event.preventDefault();
      const place = links.indexOf(document.activeElement) + (event.key === "ArrowDown" ? 1 : -1);
      (links[place] ?? input).focus();
    }
  });
  list.addEventListener("click", () => { list.hidden = true; });
})();
