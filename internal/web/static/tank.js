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
	coming?.abort();
	coming = new AbortController();
	const data = new URLSearchParams(new FormData(form));
	if (lean) data.set("lean", "1");
	try {
		const answer = await fetch(form.dataset.look, { method: "POST", body: data, headers: { Accept: "text/html" }, signal: coming.signal });
		if (!answer.ok || answer.redirected || turn !== asked) return;
		const fresh = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("look");
		if (!fresh || turn !== asked) return;
		now.replaceWith(fresh);
		if (!lean && fresh.querySelector("#lean")) timer = setTimeout(look, 1200, true);
	} catch { /* the next thing typed asks again; Draw it does too */ }
}

function soon(wait) {
	clearTimeout(timer);
	timer = setTimeout(look, wait, false);
}

document.addEventListener("input", (event) => {
	if (event.target.closest?.("#tankform")) soon(event.target.type === "radio" ? 0 : 250);
});
function begin() {
	clearTimeout(timer);
	if (document.querySelector("#look #lean")) timer = setTimeout(look, 600, true);
}
document.addEventListener("shown", begin);
begin();
