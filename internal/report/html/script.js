"use strict";
(() => {
  const root = document.documentElement;
  root.classList.add("js");
  const all = (selector, within = document) => Array.from(within.querySelectorAll(selector));
  for (const e of all(".tools, .zoom, .hint")) e.hidden = false;

  const theme = document.querySelector(".theme");
  theme.addEventListener("change", () => {
    if (theme.value) root.dataset.theme = theme.value;
    else delete root.dataset.theme;
  });
  document.querySelector(".print").addEventListener("click", () => window.print());

  for (const design of all("section.design")) bench(design);

  function bench(design) {
    const findings = all(".finding", design);
    const sheets = design.querySelector(".sheets");
    const lit = design.querySelector(".lit");
    const items = all(".sk-item", design);
    const hops = all(".sk-line", design);

    // The head of a finding becomes a button, so that without a script nothing pretends to be one.
    const buttons = findings.map((finding) => {
      const head = finding.querySelector(".head");
      const button = document.createElement("button");
      button.type = "button";
      button.className = "head";
      button.append(...head.childNodes);
      button.setAttribute("aria-expanded", "false");
      button.setAttribute("aria-controls", finding.querySelector(".panel").id);
      head.replaceWith(button);
      button.addEventListener("click", () => choose(finding.classList.contains("chosen") ? null : finding, false));
      return button;
    });

    design.addEventListener("keydown", (event) => {
      const at = buttons.indexOf(document.activeElement);
      if (event.key === "Escape") {
        choose(null, false);
        if (at >= 0) buttons[at].focus();
        return;
      }
      if (at < 0 || event.altKey || event.ctrlKey || event.metaKey) return;
      const to = { ArrowDown: at + 1, ArrowUp: at - 1, Home: 0, End: buttons.length - 1 }[event.key];
      if (to === undefined) return;
      event.preventDefault();
      if (buttons[to]) buttons[to].focus();
    });

    // A numbered thing of the drawing leads to its first finding. The list does the same for the keyboard.
    for (const item of items) {
      const first = findings.find((f) => JSON.parse(f.dataset.components).includes(item.dataset.tag) && item.querySelector(".sk-marker"));
      if (!first) continue;
      item.classList.add("has");
      item.addEventListener("click", () => choose(first, true));
    }

    function choose(finding, reveal) {
      findings.forEach((f, i) => {
        const on = f === finding;
        f.classList.toggle("chosen", on);
        f.classList.toggle("open", on);
        buttons[i].setAttribute("aria-expanded", String(on));
      });
      const components = new Set(finding ? JSON.parse(finding.dataset.components) : []);
      const lines = new Set(finding ? JSON.parse(finding.dataset.lines) : []);
      for (const item of items) item.classList.toggle("sk-hot", components.has(item.dataset.tag));
      const ends = (hop, tag) => components.size === 0 || components.has(tag) || tag === hop.dataset.line || tag.startsWith(hop.dataset.line + "·");
      for (const hop of hops) {
        hop.classList.toggle("sk-hot", lines.has(hop.dataset.line) && ends(hop, hop.dataset.from) && ends(hop, hop.dataset.to));
      }
      lit.textContent = finding ? "Highlighted: " + finding.querySelector(".tag").textContent + ": " + finding.querySelector(".say").textContent : "Nothing is highlighted.";
      if (finding && sheets) show();
      if (reveal && finding) {
        finding.scrollIntoView({ block: "nearest" });
        buttons[findings.indexOf(finding)].focus({ preventScroll: true });
      }
    }

    // show scrolls the drawing so that what is highlighted stands in its middle.
    function show() {
      const boxes = all(".sk-hot", sheets).map((e) => e.getBoundingClientRect()).filter((b) => b.width || b.height);
      if (boxes.length === 0) return;
      const outer = sheets.getBoundingClientRect();
      const middle = (low, high) => (Math.min(...boxes.map(low)) + Math.max(...boxes.map(high))) / 2;
      sheets.scrollLeft += middle((b) => b.left, (b) => b.right) - (outer.left + outer.width / 2);
      sheets.scrollTop += middle((b) => b.top, (b) => b.bottom) - (outer.top + outer.height / 2);
    }

    // The diagram fills the width, and its sheet with frame and title block is a button away.
    const drawings = all(".sk-drawing", design);
    const whole = drawings.map((svg) => svg.getAttribute("viewBox"));
    const crop = () => drawings.forEach((svg) => {
      const inner = svg.querySelector(".sk-diagram");
      const box = inner.getBBox();
      const by = inner.transform.baseVal.consolidate();
      if (!by || box.width === 0) return;
      const { a, e, f } = by.matrix;
      const rim = 4;
      frame(svg, [box.x * a + e - rim, box.y * a + f - rim, box.width * a + 2 * rim, box.height * a + 2 * rim].join(" "), true);
    });
    const frame = (svg, view, cropped) => {
      const [, , width, height] = view.split(" ");
      svg.setAttribute("viewBox", view);
      svg.classList.toggle("cropped", cropped);
      svg.style.aspectRatio = width + " / " + height;
    };
    let zoom = 1;
    for (const button of all("[data-zoom]", design)) {
      button.addEventListener("click", () => {
        zoom = { in: Math.min(6, zoom * 1.4), out: Math.max(0.5, zoom / 1.4), fit: 1, sheet: 1 }[button.dataset.zoom];
        if (button.dataset.zoom === "sheet") drawings.forEach((svg, i) => frame(svg, whole[i], false));
        if (button.dataset.zoom === "fit") crop();
        for (const svg of drawings) svg.style.width = zoom * 100 + "%";
        show();
      });
    }
    crop();

    // One solved case is shown at a time; paper has them all.
    const pick = design.querySelector("select.case");
    if (pick) {
      const states = all(".state", design);
      const turn = () => states.forEach((s) => s.classList.toggle("off", s.id !== pick.value));
      pick.closest(".pick").hidden = false;
      pick.addEventListener("change", turn);
      turn();
    }

    if (findings.length > 0) choose(findings[0], false);
  }
})();
