// Keeps what is typed into a form until the program has answered it: a page that was left, a server that was gone or a phone that threw the page away
// loses nothing. Kept in this tab only, so that two tabs do not mix. Without this script the browser sends a form again when its error page is reloaded.
(() => {
  const says = document.currentScript.dataset.says;
  // A page that came straight in answer to a form shows what was typed into that form itself.
  const straight = "answer" in document.documentElement.dataset;
  const [how] = performance.getEntriesByType("navigation");
  const answered = document.referrer.startsWith(location.origin + "/") && how && (how.type === "navigate" || how.redirectCount > 0);
  let store;
  try {
    store = window.sessionStorage;
  } catch {
    return;
  }
  const get = (key) => JSON.parse(store.getItem(key));
  const put = (key, d) => store.setItem(key, JSON.stringify(d));

  const just = new Set();
  for (const key of Object.keys(store)) {
    if (!key.startsWith("typed ")) continue;
    const d = get(key);
    if (!answered || !d.sent) continue;
    if (straight) {
      just.add(key);
      put(key, { ...d, sent: false });
    } else store.removeItem(key);
  }

  // What the page came with and what stands there now, by name.
  const fields = (form) => {
    const out = {};
    for (const e of form.elements) {
      if (!e.name || !form.contains(e) || /^(hidden|submit|button|file|fieldset)$/.test(e.type)) continue;
      if (e.type === "radio" || e.type === "checkbox") {
        out[e.name] ??= ["", ""];
        if (e.defaultChecked) out[e.name][0] = e.value;
        if (e.checked) out[e.name][1] = e.value;
      } else if (e.type === "select-one") {
        out[e.name] = [([...e.options].find((o) => o.defaultSelected) ?? e.options[0]).value, e.value];
      } else {
        out[e.name] = [e.defaultValue, e.value];
      }
    }
    return out;
  };
  const hidden = (form, name) => form.querySelector(`input[type="hidden"][name="${name}"]`);

  const forms = new Map();
  const seen = {};
  for (const form of document.querySelectorAll('form[method="post"]')) {
    const what = `typed ${form.getAttribute("action")} ${hidden(form, "place")?.value ?? ""}`;
    seen[what] = (seen[what] ?? 0) + 1;
    const key = `${what} ${seen[what]}`;
    forms.set(form, { key, id: hidden(form, "form")?.value });
    const d = get(key);
    if (!d || just.has(key) || d.shown !== hidden(form, "shown")?.value) continue;
    const here = fields(form);
    let back = 0;
    for (const [name, [was, typed]] of Object.entries(d.at)) {
      if (!here[name] || here[name][0] !== was) continue; // saved meanwhile, or changed elsewhere
      const e = form.elements[name];
      if (e.tagName || e instanceof RadioNodeList) e.value = typed;
      for (let x = e.tagName ? e : e[0]; (x = x.closest("details:not([open])")); ) x.open = true;
      back++;
    }
    if (!back) {
      store.removeItem(key);
      continue;
    }
    // It may have been taken although no answer came: unchanged it goes under its old number, which is taken only once.
    if (d.sent && hidden(form, "form")) hidden(form, "form").value = d.form;
    put(key, { ...d, sent: false });
    const p = document.createElement("p");
    p.className = "saved";
    p.setAttribute("role", "status");
    p.textContent = says;
    form.prepend(p);
  }

  const save = (form, sent) => {
    const f = forms.get(form);
    if (!f) return;
    const old = get(f.key);
    const at = {};
    for (const [name, [now, typed]] of Object.entries(fields(form))) {
      const was = old?.at[name]?.[0] ?? now;
      if (typed !== was) at[name] = [was, typed];
    }
    if (Object.keys(at).length) put(f.key, { at, sent, shown: hidden(form, "shown")?.value, form: hidden(form, "form")?.value });
    else store.removeItem(f.key);
  };
  document.addEventListener("input", (e) => {
    const form = e.target.form;
    if (!forms.has(form)) return;
    if (hidden(form, "form")) hidden(form, "form").value = forms.get(form).id; // changed, it is a form of its own
    save(form, false);
  });
  document.addEventListener("submit", (e) => save(e.target, true));
})();
