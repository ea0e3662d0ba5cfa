package api

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"gaugewright/internal/peer"
)

// clientProgram uses the types that are generated from the document: the
// compiler refuses a path, a parameter or a field that isn't in it.
const clientProgram = `
import createClient from "openapi-fetch";
import type { paths, components } from "./schema.js";

declare const process: { argv: string[] }; // of node
const client = createClient<paths>({ baseUrl: process.argv[2]!, headers: { Authorization: "Bearer secret" } });
const said: string[] = [];
const must = <T>(x: { data?: T; error?: components["schemas"]["ErrorModel"]; response: Response }): T => {
	if (x.data === undefined) throw new Error(x.response.status + " " + x.error?.detail);
	return x.data;
};

for (const t of must(await client.GET("/api/v1/tanks")).tanks) said.push(t.tank + "=" + (t.capacity_l?.toFixed(1) ?? "unknown"));
const level = must(await client.GET("/api/v1/tanks/{tank}/level", { params: { path: { tank: "fresh" } } }));
said.push("level " + level.level_pct + " ± " + level.u_pct + " " + level.status);
for (const l of must(await client.GET("/api/v1/levels")).levels) said.push(l.tank + ": " + (l.fault ?? "nothing amiss") + ", " + (l.last_good?.level_pct ?? null));
const past = must(await client.GET("/api/v1/tanks/{tank}/history", { params: { path: { tank: "fresh" }, query: { from: "2026-11-01T00:00:00Z", to: "2026-11-02T00:00:00Z", buckets: 24 } } }));
said.push("history " + past.from + " " + past.buckets.map((b) => b.mean_pct));
const raw = must(await client.GET("/api/v1/tanks/{tank}/readings", { params: { path: { tank: "fresh" }, query: { source: "mqtt", signal: "ohm" } } }));
said.push("readings " + raw.buckets.map((b) => b.max));
said.push("lines " + must(await client.GET("/api/v1/tanks/{tank}/lines", { params: { path: { tank: "fresh" } } })).lines.map((l) => l.source + "/" + l.signal));
said.push("events " + must(await client.GET("/api/v1/events", { params: { query: { most: 5 } } })).events.map((e) => e.kind + "@" + e.tank));
said.push("feeds " + must(await client.GET("/api/v1/feeds")).feeds.map((f) => f.feed + (f.up ? " up" : " " + f.why)));
said.push("version " + must(await client.GET("/api/v1/standing")).version);
said.push("kept " + must(await client.POST("/api/v1/tanks/{tank}/readings", { params: { path: { tank: "fresh" } }, body: [118.4, { ohm: 118.6, time: 1793541720 }] })).kept);
const none = await client.GET("/api/v1/tanks/{tank}", { params: { path: { tank: "nowhere" } } });
said.push("refused " + none.response.status + " " + none.error?.status);
const stream = await client.GET("/api/v1/levels/stream", { parseAs: "stream" });
const reader = stream.data!.getReader();
let text = "";
while (!text.includes("event: level")) text += new TextDecoder().decode((await reader.read()).value);
await reader.cancel();
said.push("stream");
console.log(said.join("\n"));
`

const clientRules = `{"compilerOptions": {"strict": true, "noUncheckedIndexedAccess": true, "exactOptionalPropertyTypes": true, "module": "nodenext",
	"target": "es2022", "lib": ["es2022", "dom", "dom.iterable"], "types": [], "skipLibCheck": true}, "files": ["client.ts"]}`

const clientSays = `fresh=99.9
lpg=unknown
diesel=unknown
level 51.84 ± 0.87 good
fresh: nothing amiss, null
lpg: broken wire, 61
diesel: no reading, null
history 2026-11-01T00:00:00Z 51.84,
readings 118.9,
lines mqtt/ohm,bay/level_pct
events fault@lpg,clock@null,mended@fresh
feeds mqtt up,modbus/bay connection refused
version 1.2.3
kept 1
refused 404 404
stream
`

// A client that a general-purpose generator makes of the document (the npm package
// openapi-typescript, with openapi-fetch) compiles under the strictest rules, and
// talks to a running server.
func TestGeneratedClient(t *testing.T) {
	node := peer.Tool(t, "node", "nodejs")
	place := npm(t, "openapi-typescript", "openapi-fetch", "typescript")
	document, err := filepath.Abs("../../docs/openapi.json")
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	if err := os.Symlink(place, filepath.Join(folder, "node_modules")); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{"client.ts": clientProgram, "package.json": `{"type": "module"}`, "tsconfig.json": clientRules} {
		if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	run := func(args ...string) string {
		t.Helper()
		cmd := exec.Command(node, args...)
		cmd.Dir = folder
		out, err := cmd.CombinedOutput()
		if err != nil {
			t.Fatalf("%v: %v\n%s", args, err, out)
		}
		return string(out)
	}
	run("node_modules/openapi-typescript/bin/cli.js", document, "--output", "schema.ts")
	run("node_modules/typescript/bin/tsc", "--project", "tsconfig.json")
	s := newStall()
	if got := run("client.js", serving(t, s)); got != clientSays {
		t.Errorf("the client says\n%s\nexpected\n%s", got, clientSays)
	}
	if want := `fresh [118.4,{"ohm":118.6,"time":1793541720}]`; len(s.posted) != 1 || s.posted[0] != want {
		t.Errorf("posted %q; expected %s", s.posted, want)
	}
}
