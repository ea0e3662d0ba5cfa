// What every page does beyond its forms: it sends them without leaving the
// page and again until they are kept, and it follows what changes elsewhere.
// Everything here works on what the server writes; without it the forms post.

import { said } from "./said.js";

const wait = (ms) => new Promise((done) => setTimeout(done, ms));

// key names a change, so that one sent again is made once.
export function newKey() {
	const bytes = crypto.getRandomValues(new Uint8Array(16));
	return Array.from(bytes, (b) => b.toString(16).padStart(2, "0")).join("");
}

// say shows that something isn't kept yet; "" that all is.
export function say(text) {
	const line = document.getElementById("unsent");
	if (!line) return;
	line.textContent = text;
	line.hidden = text === "";
}

let swaps = 0; // how often this page was made anew

// swap puts the parts of a page that are marked data-live in the place of the
// ones that stand here, where they differ, and keeps the focus.
export function swap(text) {
	swaps++;
	const fresh = new DOMParser().parseFromString(text, "text/html");
	const focus = document.activeElement;
	const focused = focus && focus.id;
	const parts = (page) => [...page.querySelectorAll("main [data-live]")].map((part) => part.id).join(" ");
	// A page that has become another one is put there as a whole.
	if (parts(fresh) !== parts(document)) {
		document.querySelector("main").replaceWith(fresh.querySelector("main"));
	} else for (const old of document.querySelectorAll("[data-live]")) {
		const now = fresh.getElementById(old.id);
		if (!now) continue;
		if (old.outerHTML === now.outerHTML) continue;
		if (old.contains(focus) && focus.matches("input, select, textarea") && !old.hasAttribute("data-live-always")) continue;
		old.replaceWith(now);
	}
	if (fresh.body.dataset.revision) document.body.dataset.revision = fresh.body.dataset.revision;
	if (focused && document.activeElement !== focus) document.getElementById(focused)?.focus({ preventScroll: true });
	document.dispatchEvent(new Event("refreshed"));
}

let refreshing = null;

// refresh fetches this page anew; asked again meanwhile, it does so once more. So
// it does when a form was answered meanwhile: what was fetched may be from before.
export async function refresh() {
	if (refreshing) { refreshing.again = true; return refreshing.done; }
	const turn = { again: false };
	turn.done = (async () => {
		do {
			turn.again = false;
			const before = swaps;
			try {
				const answer = await fetch(location.href, { headers: { Accept: "text/html" } });
				if (answer.redirected && new URL(answer.url).pathname === "/sign-in") { location.reload(); return; }
				const text = await answer.text();
				if (swaps !== before) turn.again = true;
				else if (answer.ok) swap(text);
			} catch { /* the stream below comes back and asks again */ }
		} while (turn.again);
		refreshing = null;
	})();
	refreshing = turn;
	return turn.done;
}

// send posts a form until the server has kept it or refused it, and gives the
// whole answer: { ok, url, text }. A form that names its change with a key is
// kept once, however often it is sent; one without is sent once.
export async function send(form, data) {
	const again = Boolean(data.get("key")); // sent twice without one, it might be made twice
	for (let n = 0; ; n++) {
		try {
			const answer = await fetch(form.action, { method: "POST", body: form.enctype === "multipart/form-data" ? data : new URLSearchParams(data), headers: { Accept: "text/html" } });
			// Read to its end before it counts: the line may break in the middle.
			const text = await answer.text();
			if (answer.redirected && new URL(answer.url).pathname === "/sign-in") location.reload();
			if (answer.status < 500) { say(""); return { ok: answer.ok, url: answer.url, text }; }
			const words = new DOMParser().parseFromString(text, "text/html").querySelector("main .lead, main .fault");
			say((words ? words.textContent : said("Not kept: the program answers with an error.")) + (again ? " " + said("Trying again.") : ""));
		} catch {
			say(again ? said("Not kept yet: the program doesn’t answer. It is sent again until it is; leave this page open.") : said("Not kept: the program doesn’t answer. Send it again when it does."));
		}
		if (!again) return null;
		await wait(Math.min(3000, 300 * (n + 1)));
	}
}

// settle shows what came of a form.
async function settle(answer) {
	if (!answer) return;
	const { text } = answer;
	const here = new URL(answer.url).pathname === location.pathname;
	if (answer.ok && here) { swap(text); return; }
	if (answer.ok) { location.href = answer.url; return; }
	const fresh = new DOMParser().parseFromString(text, "text/html");
	document.querySelector("main").replaceWith(fresh.querySelector("main"));
	document.dispatchEvent(new Event("refreshed"));
	(document.querySelector(".fault") || document.querySelector("main h1") || document.querySelector("main")).focus?.();
}

// Forms go one after the other, in the order in which they were sent.
let turn = Promise.resolve();

document.addEventListener("submit", (event) => {
	const form = event.target;
	if (!form.matches("form[data-keep]") || event.defaultPrevented) return;
	event.preventDefault();
	const data = new FormData(form, event.submitter);
	const key = form.elements.namedItem("key");
	if (key) key.value = newKey();
	// Emptied at once for the next one; a refusal writes it into the page again.
	const empty = [...form.querySelectorAll("[data-clear]")];
	empty.forEach((field) => { field.value = ""; });
	empty[0]?.focus();
	turn = turn.then(async () => {
		const answer = await send(form, data);
		if (!answer) empty.forEach((field) => { field.value ||= data.get(field.name); });
		await settle(answer);
	}).catch((error) => { say(said("Something went wrong on this page: {1}. Load it again.", error.message)); });
});

document.addEventListener("click", (event) => {
	if (event.target.closest("[data-print]")) window.print();
});
document.addEventListener("change", (event) => {
	if (event.target.matches("[data-send-on-change]")) event.target.form.requestSubmit();
});

// One stream a page, closed while nobody looks at it: a browser opens six to
// one site and no more.
let stream = null;
function listen() {
	const { job, meter } = document.body.dataset;
	if (!job && !meter || stream || document.hidden) return;
	const asked = new URLSearchParams();
	if (job) asked.set("job", job);
	if (meter) asked.set("meter", "1");
	stream = new EventSource("/live?" + asked);
	stream.addEventListener("revision", (event) => {
		if (event.data !== document.body.dataset.revision) refresh();
	});
	stream.addEventListener("meter", (event) => {
		document.dispatchEvent(new CustomEvent("meter", { detail: JSON.parse(event.data) }));
	});
	stream.addEventListener("open", () => document.dispatchEvent(new CustomEvent("line", { detail: true })));
	stream.addEventListener("error", () => {
		document.dispatchEvent(new CustomEvent("line", { detail: false }));
		if (stream && stream.readyState === EventSource.CLOSED) { stream = null; setTimeout(listen, 1000); }
	});
}
document.addEventListener("visibilitychange", () => {
	if (document.hidden && stream) { stream.close(); stream = null; } else listen();
});
// Where the steps of a tank are one line that is moved sideways, the one that is
// open is in sight.
const step = document.querySelector(".steps [aria-current]");
if (step) step.parentElement.scrollLeft = step.offsetLeft - step.parentElement.offsetLeft - (step.parentElement.clientWidth - step.offsetWidth) / 2;

// A listener of the page's own script must be there before the first event.
queueMicrotask(listen);
document.documentElement.classList.add("scripted");
