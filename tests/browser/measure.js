/* Heights of capitals, and what does not fit, of the page on the wall; all in pixels. */
() => {
  const at = id => document.getElementById(id);
  const shown = node => node.getClientRects().length > 0;
  const brush = document.createElement("canvas").getContext("2d");
  const capital = id => {
    const node = at(id);
    if (!shown(node) || !node.textContent) return null;
    const style = getComputedStyle(node);
    brush.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
    return brush.measureText("H").actualBoundingBoxAscent;
  };
  const outside = [...document.querySelectorAll("#wall *")].filter(shown)
    .filter(node => !node.closest(".unseen") && !["I", "B"].includes(node.tagName))
    .filter(node => {
      const box = node.getBoundingClientRect();
      return box.left < -0.5 || box.top < -0.5 || box.right > innerWidth + 0.5 || box.bottom > innerHeight + 0.5;
    }).map(node => node.id || node.textContent);
  const cut = ["title", "hearing", "time", "lead", "then", "unit", "number", "big", "asked", "answers", "facts", "heard",
    "question", "head", "clocks"].filter(id => shown(at(id)) && at(id).clientWidth && at(id).scrollWidth > at(id).clientWidth + 1);
  const over = (a, b) => {
    const [one, other] = [at(a), at(b)];
    if (!shown(one) || !shown(other)) return false;
    const [p, q] = [one.getBoundingClientRect(), other.getBoundingClientRect()];
    return p.bottom > q.top + 0.08 * p.height + 1;
  };
  const rows = ["top", "old", "late", "lead", "big", "then", "question", "gauge", "clocks", "data", "words", "buttons", "foot"]
    .filter(id => at(id) && shown(at(id)));
  const overlaps = rows.slice(1).map((id, place) => over(rows[place], id) ? `${rows[place]} over ${id}` : "").filter(Boolean);
  return { number: capital("number"), then: capital("then"), lead: capital("lead"), asked: capital("asked"),
    answers: shown(at("answers")) && capital("answers"), outside, cut, overlaps, rows,
    page: document.documentElement.scrollHeight > innerHeight || document.documentElement.scrollWidth > innerWidth };
}
