// Takes a signature: the way of finger, pen or mouse as strokes of whole steps, into a field of the form. Without it a name is typed and a box ticked.
(() => {
  const W = 1000, H = 400, MOST = 1900, LINES = 80;
  for (const part of document.querySelectorAll("[data-sign]")) {
    const box = part.querySelector(".pad-f"), pad = part.querySelector(".pad"), ink = pad.querySelector(".ink"), field = part.querySelector("input[name$=_strokes]");
    let strokes = [], id = null;
    const read = (text) => text.split(";").filter((s) => s.trim()).map((s) => {
      const n = s.trim().split(/\s+/).map(Number), out = [];
      for (let i = 0, x = 0, y = 0; i + 1 < n.length; i += 2) out.push([x += n[i], y += n[i + 1]]);
      return out;
    });
    const write = () => {
      field.value = strokes.map((s) => s.map((p, i) => i ? (p[0] - s[i - 1][0]) + " " + (p[1] - s[i - 1][1]) : p[0] + " " + p[1]).join(" ")).join(";");
      // A tap is drawn as a line that goes nowhere: its round ends make a dot.
      ink.setAttribute("d", strokes.map((s) => "M" + s.map((p) => p.join(" ")).join("L") + (s.length === 1 ? "h0" : "")).join(""));
    };
    // Too many points: every second one goes, ends stay.
    const thin = () => {
      while (strokes.reduce((n, s) => n + s.length, 0) > MOST) strokes = strokes.map((s) => s.filter((_, i) => i % 2 === 0 || i === s.length - 1));
    };
    const add = (e, first) => {
      const r = pad.getBoundingClientRect();
      const clamp = (v, most) => Math.min(most, Math.max(0, Math.round(v)));
      const p = [clamp((e.clientX - r.left) / r.width * W, W), clamp((e.clientY - r.top) / r.height * H, H)];
      if (first) { strokes.push([p]); return; }
      const s = strokes[strokes.length - 1], q = s[s.length - 1];
      if (Math.abs(p[0] - q[0]) + Math.abs(p[1] - q[1]) >= 4) s.push(p);
    };
    pad.addEventListener("pointerdown", (e) => {
      if (id !== null || e.button > 0 || strokes.length >= LINES) return;
      e.preventDefault();
      id = e.pointerId;
      pad.setPointerCapture(id);
      add(e, true);
      write();
    });
    pad.addEventListener("pointermove", (e) => {
      if (e.pointerId !== id) return;
      const all = e.getCoalescedEvents ? e.getCoalescedEvents() : [];
      for (const c of all.length ? all : [e]) add(c, false);
      thin();
      write();
    });
    for (const end of ["pointerup", "pointercancel"]) pad.addEventListener(end, (e) => { if (e.pointerId === id) id = null; });
    part.querySelector("[data-wipe]").addEventListener("click", () => { strokes = []; write(); });
    try { strokes = read(field.value); } catch { strokes = []; }
    if (strokes.some((s) => s.some((p) => p.some(Number.isNaN)))) strokes = [];
    write();
    box.hidden = false;
  }
})();
