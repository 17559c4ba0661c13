"use strict";
// The page for a tablet: one step at a time, the stroke by a slider, readings kept and put together. Nothing is fetched.
(function () {
  const root = document.querySelector(".tablet");
  const all = (wanted, from = root) => Array.from(from.querySelectorAll(wanted));
  const one = (wanted, from = root) => from.querySelector(wanted);
  const data = JSON.parse(one('script[type="application/json"]').textContent);
  const words = root.dataset;
  const pages = all(".t-page");
  const inputs = all("input[data-name]");
  const told = one(".t-told");
  let at = 0;

  // --- what is typed in, kept in this browser where it lets us, else for as long as the page is open
  const first = Object.fromEntries(inputs.map((input) => [input.dataset.name, input.defaultValue]));
  let typed = { ...first };
  function load() {
    try {
      const found = JSON.parse(window.localStorage.getItem(data.kept) || "{}");
      for (const name in first) if (typeof found[name] === "string") typed[name] = found[name];
      window.localStorage.setItem(data.kept, JSON.stringify(typed));
      return true;
    } catch (refused) {
      return false;
    }
  }
  function keep() {
    try {
      window.localStorage.setItem(data.kept, JSON.stringify(typed));
      return true;
    } catch (refused) {
      return false;
    }
  }
  const say = (text) => { told.textContent = text; };
  const tellKept = (kept) => say(kept ? words.kept : words.notKept);

  // --- one reading understood: a decimal comma is as good as a point; null where it is none
  function understood(kind, text) {
    const plain = text.trim().replace("°", "").replace(",", ".").trim();
    if (kind === "text") return text.trim();
    if (kind === "count") return /^[1-9]\d{0,3}$/.test(plain) ? Number(plain) : null;
    return /^[-+]?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : null;
  }
  const round = (value, places) => Number(value.toFixed(places));
  const quoted = (text) => (/^[\w@%+=:,./-]+$/.test(text) ? text : "'" + text.replace(/'/g, "'\"'\"'") + "'");

  function mark(input) {
    const field = input.closest(".t-read");
    const { kind, nominal, allowed } = input.dataset;
    const value = understood(kind, input.value);
    const empty = input.value.trim() === "";
    field.classList.toggle("t-wrong", !empty && value === null);
    const off = empty || value === null || nominal === undefined ? null : value - Number(nominal);
    const places = kind === "angle" ? 2 : data.unit === "in" ? 4 : 3;
    const sign = off > 0 ? "+" : off < 0 ? "−" : "";
    const size = off === null ? "" : sign + String(round(Math.abs(off), places)).replace(".", data.point);
    one("output", field).textContent = !empty && value === null ? words.notRead : off === null ? "" : words.off + " " + size;
    field.classList.toggle("t-over", off !== null && allowed !== undefined && Math.abs(off) > Number(allowed) + 1e-9);
  }

  // --- both answers
  const shown = new Map(inputs.map((input) => [input.dataset.name, input.dataset]));
  function answers() {
    const line = [...data.command, quoted(typed.file.trim() || first.file)];
    const file = { ...data.head };
    let measured = false;
    for (const [name, { option, key, kind, number, said }] of shown) {
      const value = typed[name].trim() === "" ? null : understood(kind, typed[name]);
      if (!option || value === null || value === "") continue;
      const written = kind === "length" ? value + data.unit : kind === "text" ? quoted(value) : String(value);
      line.push(kind === "text" ? option + "=" + written : option, ...(kind === "text" ? [] : [number ? quoted((said || number) + "=" + written) : written]));
      const stored = kind === "length" ? round(value / data.mm, 5) : value;
      if (number) file[key] = { ...file[key], [number]: stored };
      else file[key] = stored;
      measured = measured || key === "included_deg" || key === "legs_mm";
    }
    return measured ? [line.join(" "), JSON.stringify(file, null, 2)] : [words.nothing, ""];
  }
  function put() {
    for (const input of inputs) {
      if (input !== document.activeElement) input.value = typed[input.dataset.name];
      mark(input);
    }
    const [line, file] = answers();
    one(".t-command").value = line;
    one(".t-json").value = file;
    all(".t-save, [data-copy]").forEach((button) => { button.disabled = file === ""; });
  }
  for (const input of inputs) {
    input.addEventListener("input", () => {
      typed[input.dataset.name] = input.value;
      put();
      tellKept(keep());
    });
  }

  // --- pages
  function show(page) {
    at = Math.max(0, Math.min(pages.length - 1, page));
    pages.forEach((each, place) => { each.hidden = place !== at; });
    all(".t-tabs button").forEach((tab, place) => {
      if (place === at) tab.setAttribute("aria-current", "page");
      else tab.removeAttribute("aria-current");
    });
    one(".t-tabs [aria-current]").scrollIntoView({ block: "nearest", inline: "nearest" });
    one('[data-go="-1"]').disabled = at === 0;
    one('[data-go="1"]').disabled = at === pages.length - 1;
    one(".t-at").textContent = at + 1 + " / " + pages.length;
    pages[at].scrollTop = 0;
    pages[at].focus({ preventScroll: true });
    put();
  }
  all("[data-go]").forEach((button) => button.addEventListener("click", () => show(at + Number(button.dataset.go))));
  all(".t-tabs button").forEach((tab) => tab.addEventListener("click", () => show(Number(tab.dataset.page))));

  // --- the stroke
  const slider = () => one('input[type="range"]', pages[at]);
  function moveTo(page, moment) {
    const [part, lift, back, said] = data.strokes[page.dataset.step][moment];
    one(".t-part", page).setAttribute("d", part);
    one(".t-ram", page).setAttribute("transform", "translate(0 " + -lift + ")");
    all(".t-finger", page).forEach((finger) => finger.setAttribute("transform", "translate(" + -back + " 0)"));
    one("figcaption output", page).textContent = said;
  }
  function moveBy(by) {
    const found = slider();
    if (!found) return;
    found.value = Number(found.value) + by;
    moveTo(pages[at], Number(found.value));
  }
  for (const page of pages.filter((each) => one('input[type="range"]', each))) {
    one('input[type="range"]', page).addEventListener("input", (event) => moveTo(page, Number(event.target.value)));
    all("[data-by]", page).forEach((button) => button.addEventListener("click", () => moveBy(Number(button.dataset.by))));
    one(".t-view", page).addEventListener("click", (event) => {
      const picture = one(".t-stroke svg", page), button = event.currentTarget, other = button.dataset.other;
      const near = picture.getAttribute("viewBox") === picture.dataset.whole;
      picture.setAttribute("viewBox", near ? picture.dataset.near : picture.dataset.whole);
      button.dataset.other = button.textContent;
      button.textContent = other;
    });
  }

  // --- keys: left and right turn pages, up and down move the stroke; in a box they belong to what is typed
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const inBox = event.target.matches('input[type="text"], textarea');
    const turned = { PageUp: at - 1, PageDown: at + 1 };
    if (!inBox) Object.assign(turned, { ArrowLeft: at - 1, ArrowRight: at + 1, Home: 0, End: pages.length - 1 });
    if (event.key in turned) show(turned[event.key]);
    else if (!inBox && slider() && (event.key === "ArrowUp" || event.key === "ArrowDown")) moveBy(event.key === "ArrowUp" ? -1 : 1);
    else if (inBox && event.key === "Enter") event.target.blur();
    else return;
    event.preventDefault();
  });

  // --- out of the page, and on to the next piece
  all("[data-copy]").forEach((button) => button.addEventListener("click", () => {
    const box = one("." + button.dataset.copy);
    box.focus();
    box.select();
    let done = false;
    try { done = document.execCommand("copy"); } catch (refused) { done = false; }
    say(done ? words.copied : words.select);
  }));
  one(".t-save").addEventListener("click", () => {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([answers()[1] + "\n"], { type: "application/json" }));
    link.download = data.file;
    link.click();
    window.setTimeout(() => URL.revokeObjectURL(link.href), 10000);
  });
  const clear = one(".t-clear"), asks = clear.textContent;
  clear.addEventListener("click", () => {
    if (clear.textContent === asks) {
      clear.textContent = words.sure;
      window.setTimeout(() => { clear.textContent = asks; }, 4000);
      return;
    }
    clear.textContent = asks;
    const stay = ["lot", "file"], piece = understood("count", typed.piece) || 1;
    for (const name in first) if (!stay.includes(name)) typed[name] = first[name];
    typed.piece = String(Math.min(piece + 1, 9999));
    put();
    tellKept(keep());
  });

  const kept = load();
  root.hidden = false;
  document.documentElement.classList.add("t-on");
  all("style:not([media])", document.head).forEach((style) => { style.media = "print"; });
  show(0);
  tellKept(kept);
})();
