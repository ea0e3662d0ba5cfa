package web

// The questions that the audit asks a page, as scripts. Each gives what is
// wrong, one line for each finding, and nothing on a page that is right.

// listening is put into every page before it loads. It writes down what goes
// wrong there, and every call of alert, which only a text that was taken for a
// script would make.
const listening = `window.wrong = [];
addEventListener("error", (e) => wrong.push("error: " + (e.message || "not loaded: " + (e.target.src || e.target.href))), true);
addEventListener("unhandledrejection", (e) => wrong.push("not handled: " + e.reason));
document.addEventListener("securitypolicyviolation", (e) => wrong.push("the policy forbids " + e.violatedDirective + ": " + e.blockedURI + " " + e.sample));
for (const kind of ["error", "warn"]) { const say = console[kind]; console[kind] = (...a) => { wrong.push("console: " + a.join(" ")); say(...a); }; }
window.alert = (text) => wrong.push("alert was called: " + text);`

// named tells which element is meant, seen whether it can be seen, and spread
// whether a link is spread over the whole of the box that it stands in.
const named = `const named = (e) => { const box = e.getBoundingClientRect(); return e.cloneNode(false).outerHTML.slice(0, 110) + " “" + (e.innerText ?? "").trim().slice(0, 30) + "” " + Math.round(box.width) + "×" + Math.round(box.height); };
const seen = (e) => e.checkVisibility({ visibilityProperty: true, opacityProperty: true });
const spread = (e) => { const s = getComputedStyle(e, "::after"); return s.content !== "none" && s.position === "absolute"; };`

// smallOnes lists what can be pressed and is less than 48 by 48 pixels. Links
// in running text are left out, as in WCAG 2.2, 2.5.8 "Inline": those laid out
// as a part of a line, with other words in the same block. The target of a radio
// button or a tick box is its label; half a pixel is for rounding. A sheet of paper
// has only its own index to press, to which the standard's 24 pixels apply.
const smallOnes = `((least) => { ` + named + `
	const inline = (e) => {
		if (getComputedStyle(e).display !== "inline") return false;
		let block = e.parentElement;
		while (block && getComputedStyle(block).display === "inline") block = block.parentElement;
		return block && block.innerText.trim().length > e.innerText.trim().length;
	};
	return [...document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary")].filter((e) => {
		if (!seen(e) || e.matches(".skip, [aria-hidden=true]") || e.matches("a") && inline(e)) return false;
		const target = e.matches("[type=radio], [type=checkbox]") ? e.closest("label") ?? e : spread(e) ? e.offsetParent : e;
		const box = target.getBoundingClientRect();
		return box.width < least - 0.5 || box.height < least - 0.5;
	}).map(named);
})(%d)`

// madeUp looks at how the page is made up: one h1, one main, a language, a
// way past the head, every nav with a name of its own.
const madeUp = `((bare) => {
	const found = [];
	const one = (what, n) => { if (n !== 1) found.push(n + " of " + what + "; expected 1"); };
	one("h1", document.querySelectorAll("h1").length);
	one("main", document.querySelectorAll("main").length);
	if (!document.documentElement.lang) found.push("no language");
	if (!/^.+ – Gaugewright$/.test(document.title) && !bare || document.title.trim().length < 4) found.push("the title is “" + document.title + "”");
	let level = 0;
	for (const h of [...document.querySelectorAll("h1, h2, h3, h4")].filter((e) => e.checkVisibility())) {
		const own = Number(h.tagName[1]);
		if (own > level + 1) found.push("after a heading of level " + level + " comes " + h.outerHTML.slice(0, 80));
		level = own;
	}
	if (!bare) {
		one("header", document.querySelectorAll("body > header").length);
		const names = [...document.querySelectorAll("nav")].map((n) => n.getAttribute("aria-label"));
		if (names.includes(null) || new Set(names).size !== names.length) found.push("landmarks of the same name: " + names);
		if (!document.querySelector("body > a.skip:first-child")) found.push("nothing leads past the head");
	}
	const ids = [...document.querySelectorAll("[id]")].map((e) => e.id);
	for (const id of new Set(ids)) if (ids.filter((i) => i === id).length > 1) found.push("the id " + id + " is there more than once");
	return found;
})(%v)`

// pale lists the texts of drawings that are too pale on what they stand on: below
// 4.5 to 1, by the formula of WCAG 2.2 (1.4.3). axe-core leaves drawings out.
const pale = `(() => {
	const parts = (c) => (c.match(/[\d.]+/g) ?? []).map(Number);
	const light = (c) => parts(c).slice(0, 3).map((v) => v / 255).map((v) => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4).reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
	const ground = (e) => { for (; e; e = e.parentElement) { const c = getComputedStyle(e).backgroundColor; if (parts(c)[3] !== 0) return c; } return "rgb(255, 255, 255)"; };
	const found = new Set();
	for (const e of document.querySelectorAll("svg text")) {
		if (!e.checkVisibility()) continue;
		const [a, b] = [getComputedStyle(e).fill, ground(e.closest("svg").parentElement)];
		const ratio = (Math.max(light(a), light(b)) + 0.05) / (Math.min(light(a), light(b)) + 0.05);
		if (ratio < 4.5) found.add(a + " on " + b + " is " + ratio.toFixed(2) + " to 1: " + e.textContent.slice(0, 20));
	}
	return [...found];
})()`

// moving lists what moves though the person asked for stillness.
const moving = `(() => { ` + named + `
	if (!matchMedia("(prefers-reduced-motion: reduce)").matches) return ["the browser doesn't ask for stillness"];
	const long = (times) => times.split(",").some((t) => parseFloat(t) > 0);
	return [...document.querySelectorAll("*")].filter((e) => {
		const s = getComputedStyle(e);
		return long(s.transitionDuration) || s.animationName !== "none" && long(s.animationDuration) || s.scrollBehavior === "smooth";
	}).map(named).concat(document.getAnimations().map((a) => "runs: " + a.constructor.name));
})()`

// evil lists what a hostile text has become that isn't text.
const evil = `(() => [...document.querySelectorAll(".evil, [onerror], [onmouseover], img[src=x], script:not([src]), style:not(html > head > style), [href^='javascript:' i]")].map((e) => e.outerHTML.slice(0, 120)))()`

// tabStops numbers what Tab should come to, in the order in which it stands in the
// page, and has each write down how it looked when it was reached. Of radio
// buttons of one name, Tab comes to the one that is chosen, or to the first.
const tabStops = `(() => { ` + named + `
	document.querySelectorAll("details").forEach((d) => { d.open = true; });
	const stops = [...document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex='0']")].filter((e) => {
		if (e.disabled || !seen(e) || e.tabIndex < 0) return false;
		if (e.type !== "radio") return true;
		const group = [...document.querySelectorAll("input[type=radio]")].filter((o) => o.name === e.name && o.form === e.form && !o.disabled && seen(o));
		return e === (group.find((o) => o.checked) ?? group[0]);
	});
	window.reached = [];
	window.stopOf = new Map(stops.map((e, i) => [e, i]));
	window.stops = stops;
	window.faint = [];
	addEventListener("focusin", (event) => {
		const e = event.target;
		if (!stopOf.has(e)) return;
		reached.push(stopOf.get(e));
		const ringed = (s) => s.outlineStyle === "auto" || s.outlineStyle !== "none" && parseFloat(s.outlineWidth) >= 2;
		const shown = [e, e.closest("label")].some((s) => s && ringed(getComputedStyle(s))) || spread(e) && ringed(getComputedStyle(e, "::after"));
		if (!shown) faint.push("the focus can't be seen on " + named(e));
	});
	document.activeElement?.blur();
	stops[0]?.focus({ focusVisible: true });
	let more = 0;
	for (const e of stops) if (["date", "time"].includes(e.type)) more += 3;
	for (const f of document.querySelectorAll("iframe")) more += 1 + (f.contentDocument?.querySelectorAll("a[href], [tabindex='0']").length ?? 0);
	return stops.length + more;
})()`

// tabbed says what was missed on the way, or reached out of turn.
const tabbed = `(() => { ` + named + `
	const found = [...new Set(faint)];
	const first = [...new Set(reached)];
	for (const [e, i] of stopOf) if (!first.includes(i) && e.isConnected) found.push("Tab doesn't come to " + named(e));
	for (let i = 1; i < first.length; i++) if (first[i] < first[i - 1]) found.push("Tab comes to " + named(stops[first[i]]) + " after " + named(stops[first[i - 1]]));
	return found.slice(0, 6);
})()`

// covered gives the focus to each of the stops in turn and lists those that lie
// wholly under something else then, such as a bar that stays where it is.
const covered = `(() => { ` + named + `
	return stops.filter((e) => {
		document.activeElement?.blur();
		e.focus({ focusVisible: true });
		const box = e.getBoundingClientRect();
		return ![0.1, 0.5, 0.9].some((x) => [0.1, 0.5, 0.9].some((y) => {
			const top = document.elementFromPoint(box.left + x * box.width, box.top + y * box.height);
			return top && (top.contains(e) && top !== document.body && top !== document.documentElement || e.contains(top) || e.closest("label")?.contains(top));
		}));
	}).map(named);
})()`

// printed lists what belongs to the screen alone and would be printed, what would
// be cut off at the edge of the sheet, and what isn't dark on white.
const printed = `(() => { ` + named + `
	const found = [...document.querySelectorAll("body > header, nav.rooms, nav.steps, form, button, input, select, textarea, .skip, .do, .also")].filter(seen).map((e) => "printed: " + named(e));
	for (const e of document.querySelectorAll("main *")) {
		if (e.closest("svg") && e.tagName !== "svg" || !e.checkVisibility() || e.clientWidth <= 1) continue; // 1 pixel: for who listens
		const s = getComputedStyle(e);
		if (s.overflowX !== "visible" && e.scrollWidth > e.clientWidth + 1) found.push("cut: " + named(e) + " holds " + e.scrollWidth);
		else if (e.getBoundingClientRect().right > innerWidth + 1 && !e.closest(".figures")) found.push("over the edge: " + named(e));
	}
	const sum = (c) => (c.match(/[\d.]+/g) ?? []).slice(0, 3).reduce((a, v) => a + Number(v), 0);
	const blank = (c) => /, 0\)$/.test(c) || sum(c) === 765;
	for (const e of [document.documentElement, document.body, document.querySelector("main")]) if (!blank(getComputedStyle(e).backgroundColor)) found.push("the ground of " + e.tagName + " is " + getComputedStyle(e).backgroundColor);
	if (sum(getComputedStyle(document.querySelector("main")).color) > 200) found.push("the ink is " + getComputedStyle(document.querySelector("main")).color);
	return found.slice(0, 8);
})()`
