// What a page gains from its own content: links to jump by, and what the keyboard can reach.
(() => {
  // What is said to those who opened the lesson as a notebook is for nobody here.
  for (const one of document.querySelectorAll("main p")) {
    if (one.textContent.startsWith("Opened as a notebook?")) one.remove();
  }
  // Where a lesson can be jumped to, from its headings.
  const jumps = document.getElementById("lengthwise-jumps"), times = {};
  for (const one of document.querySelectorAll("main h2, main h3")) {
    const wanted = one.tagName === "H2" ? /^(Predict|Move|Explain|Check)\b/ : /^(The (?:second )?picture)\b/;
    const found = wanted.exec(one.textContent.trim());
    if (!found || !one.id) continue;
    const word = found[1].replace(/^The.*/, "Picture");
    times[word] = (times[word] || 0) + 1;
    const link = document.createElement("a");
    link.href = `#${encodeURIComponent(one.id)}`;
    link.textContent = times[word] > 1 ? `${word} ${times[word]}` : word;
    jumps.append(link);
  }
  jumps.hidden = !jumps.childElementCount;
  if (document.getElementById("Cautions")) document.getElementById("to-cautions").href = "#Cautions";
  // A table that is wider than the window scrolls by itself; then the keyboard can reach it, too.
  let looking = false;
  const reach = () => {
    looking = false;
    for (const table of document.querySelectorAll("main table")) {
      if (table.scrollWidth > table.clientWidth) table.setAttribute("tabindex", "0");
      else table.removeAttribute("tabindex");
    }
    for (const hands of document.querySelectorAll(".lengthwise-hands")) {
      const sentence = hands.firstElementChild; // none while the panel is still being filled
      if (sentence) hands.style.setProperty("--sentence", `${sentence.offsetHeight}px`);
    }
  };
  const look = () => { if (!looking) { looking = true; requestAnimationFrame(reach); } };
  new ResizeObserver(look).observe(document.body);
  // A table or a sentence may become another one without the page becoming higher.
  new MutationObserver(look).observe(document.querySelector("main"), { childList: true, subtree: true });
  window.addEventListener("resize", look);
})();
