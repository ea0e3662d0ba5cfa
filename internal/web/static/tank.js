// The drawing follows what is typed; what leaning does, which takes longer to
// reckon, comes once the typing has stopped.
import "./tank-form.js";

let asked = 0;
let timer = 0;
let coming = null;

async function look(lean) {
	const form = document.getElementById("tankform");
	const now = document.getElementById("look");
	if (!form || !now) return;
	const turn = ++asked;
	timer = 0;
	coming?.abort();
	now.setAttribute("aria-busy", "true");
	coming = new AbortController();
	const data = new URLSearchParams(new FormData(form));
	if (lean) data.set("lean", "1");
	try {
		const answer = await fetch(form.dataset.look, { method: "POST", body: data, headers: { Accept: "text/html" }, signal: coming.signal });
		if (!answer.ok || answer.redirected || turn !== asked) return;
		const fresh = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("look");
		if (!fresh || turn !== asked) return;
		if (now.contains(document.activeElement)) {
			// Whoever has gone into it by the keyboard isn't thrown out.
			now.addEventListener("focusout", () => wait(300, lean), { once: true });
			return;
		}
		now.replaceWith(fresh);
		if (!lean && fresh.querySelector("#lean")) wait(1200, true);
	} catch { /* the next thing typed asks again; Draw it does too */ } finally {
		if (turn === asked && !timer) document.getElementById("look")?.removeAttribute("aria-busy");
	}
}

function wait(time, lean) {
	clearTimeout(timer);
	timer = setTimeout(look, time, lean);
	document.getElementById("look")?.setAttribute("aria-busy", "true");
}

document.addEventListener("input", (event) => {
	if (event.target.closest?.("#tankform")) wait(event.target.type === "radio" ? 0 : 250, false);
});
function begin() {
	clearTimeout(timer);
	timer = 0;
	if (document.querySelector("#look #lean")) wait(600, true);
}
document.addEventListener("shown", begin);
begin();
