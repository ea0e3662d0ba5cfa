package web

import (
	"bytes"
	"context"
	"fmt"
	"html"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/quantity"
	"gaugewright/internal/tankfile"
	"gaugewright/internal/telling"
)

// tankFields are the fields of a tank's page as a browser would send them back.
func tankFields(t job.Tank, change ...string) []string {
	return pairs(tankValues(t, quantity.Units{}), change...)
}

// pairs writes a form for post, with some of its fields changed; the value "-"
// takes one out.
func pairs(v url.Values, change ...string) []string {
	for i := 0; i+1 < len(change); i += 2 {
		if change[i+1] == "-" {
			v.Del(change[i])
		} else {
			v.Set(change[i], change[i+1])
		}
	}
	var out []string
	for name, values := range v {
		for _, text := range values {
			out = append(out, name, text)
		}
	}
	return out
}

// A page that is sent back as it came changes nothing.
func TestTankKeptAsItIs(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	before, err := b.job(id).Encode()
	if err != nil {
		t.Fatal(err)
	}
	for n, tank := range b.job(id).Tanks {
		status, text := b.post(fmt.Sprintf("/jobs/%s/%d/tank", id, n+1), tankFields(tank, "tank", tank.Name)...)
		if status != 200 || !strings.Contains(text, ">Kept.<") {
			t.Fatalf("%s: %d\n%s", tank.Name, status, faultIn(text))
		}
	}
	after, err := b.job(id).Encode()
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(before, after) {
		t.Errorf("before\n%s\nafter\n%s", before, after)
	}
}

var faultInPage = regexp.MustCompile(`(?s)<p class="fault"[^>]*>(.*?)</p>`)

func faultIn(text string) string {
	if m := faultInPage.FindStringSubmatch(text); m != nil {
		return html.UnescapeString(m[1])
	}
	return "no fault in the page"
}

// Every shape of the page is kept as the tank file that it stands for. The
// litres are those of school: l·w·h; π/4·d²·l; π/6·d³; h/3·(A+√(A·B)+B); Pappus'
// 2π²·R·r²; a trapezium's (a+b)/2·h.
func TestTankShapes(t *testing.T) {
	j := sample(t)
	j.Tanks = j.Tanks[2:3] // without a shape, without a scale that needs one
	j.Tanks[0].WaterCapacityL, j.Tanks[0].Setting, j.Tanks[0].Checks, j.Tanks[0].HeelL, j.Tanks[0].PermittedFillPct = 0, nil, nil, 0, 0
	b := open(t)
	id := b.start(j)
	path := fmt.Sprintf("/jobs/%s/1/tank", id)
	for _, c := range []struct {
		key    string
		fields []string
		litres float64
	}{
		{"box", []string{"box.length_mm", "50 cm", "box.width_mm", "0,4m", "box.height_mm", "300"}, 60},
		{"box", []string{"box.length_mm", "506", "box.width_mm", "406 mm", "box.height_mm", "306", "wall_mm", "3"}, 60},
		{"lying", []string{"lying.diameter_mm", "C 942.477796 mm", "lying.length_mm", "800", "lying.heads", "flat"}, 56.549},
		{"lying", []string{"lying.diameter_mm", "300", "lying.overall_length_mm", "600", "lying.heads", "hemispherical"}, 21.206 + 14.137},
		{"upright", []string{"upright.diameter_mm", "10in", "upright.length_mm", "1 ft", "upright.heads", "flat"}, 15.4443},
		{"sphere", []string{"sphere.diameter_mm", "300"}, 14.137},
		{"cone", []string{"cone.height_mm", "300", "cone.bottom_diameter_mm", "0", "cone.top_diameter_mm", "300"}, 7.0686},
		{"taper", []string{"taper.height_mm", "300", "taper.bottom_length_mm", "0", "taper.bottom_width_mm", "0", "taper.top_length_mm", "300", "taper.top_width_mm", "300"}, 9},
		{"ring", []string{"ring.diameter_mm", "600", "ring.tube_diameter_mm", "200"}, 39.478},
		{"outline", []string{"outline.outline_mm", "0 0\n300,0\r\n200; 200\n\n0,0 200", "outline.length_mm", "100"}, 5},
		{"table", []string{"table.table", "height\tlitres\n0\t0\n100\t12,5\n200\t30\n"}, 30},
	} {
		fields := append([]string{"tank", "Diesel", "name", "Diesel", "contents", "diesel", "shape", c.key}, c.fields...)
		status, text := b.post(path, fields...)
		if status != 200 {
			t.Errorf("%v: %d, %s", c.fields, status, faultIn(text))
			continue
		}
		kept := b.job(id).Tanks[0]
		made, _, _, err := kept.Built()
		if err != nil {
			t.Errorf("%s: %v", c.key, err)
			continue
		}
		if got := float64(made.Capacity()) * 1000; got < c.litres*0.9999 || got > c.litres*1.0001 {
			t.Errorf("%s holds %.4f L; expected %.4f", c.key, got, c.litres)
		}
		if keyOf(kept.Shape) != c.key {
			t.Errorf("%s is shown again as %s", c.key, keyOf(kept.Shape))
		}
		// Sent back as it came, it stays.
		if status, text = b.post(path, tankFields(kept, "tank", "Diesel")...); status != 200 {
			t.Errorf("%s again: %d, %s", c.key, status, faultIn(text))
		}
		if again := b.job(id).Tanks[0]; fmt.Sprint(fieldsOf(again.Shape)) != fmt.Sprint(fieldsOf(kept.Shape)) {
			t.Errorf("%s: %v became %v", c.key, fieldsOf(kept.Shape), fieldsOf(again.Shape))
		}
	}
	b.post(path, "tank", "Diesel", "name", "Diesel", "contents", "diesel", "shape", "none")
	if b.job(id).Tanks[0].Shape != nil {
		t.Error("the shape stays though it isn't known")
	}
}

// Whatever can't be used is refused at its field, with all that was typed, and
// nothing is kept of it.
func TestTankRefuses(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	path := fmt.Sprintf("/jobs/%s/1/tank", id)
	gas := b.job(id).Tanks[0]
	before, _ := b.job(id).Encode()
	for _, c := range []struct{ name, value, want string }{
		{"lying.diameter_mm", "12 banana", "banana"},
		{"lying.diameter_mm", "-3", "expected 5 to 20000 mm"},
		{"lying.diameter_mm", "0", "expected 5 to 20000 mm"},
		{"lying.diameter_mm", "1e9", "was it meant in another unit?"},
		{"lying.diameter_mm", "", "It has to be measured"},
		{"lying.overall_length_mm", "x", "is not a length"},
		{"lying.overall_length_mm", "", "It has to be measured"},
		{"lying.overall_length_mm", "100", "“length of the straight part”"},
		{"lying.length_mm", "500", "Both lengths are there"},
		{"lying.heads", "round", "expected"},
		{"wall_mm", "150", "100"},
		{"water_capacity_l", "abc", "abc"},
		{"water_capacity_l", "-4", "expected more than nothing"},
		{"water_capacity_l", "0", "expected more than nothing"},
		{"water_capacity_l", "1e9", "up to 1000000 L"},
		{"permitted_fill_pct", "90", "for lpg no permitted fill above 85"},
		{"permitted_fill_pct", "101", "expected 1 to 100"},
		{"permitted_fill_pct", "NaN", "expected 1 to 100"},
		{"permitted_fill_pct", "", "needs the tank"},
		{"heel_l", "60", "expected less than"},
		{"heel_l", "nine", "nine"},
		{"name", "", "Give the tank a name"},
		{"name", "diesel", "A second tank"},
		{"contents", "plasma", "Say what is in the tank"},
		{"wire.size", "thick", "expected a wire size"},
		{"wire.length_m", "", "Say how long"},
		{"wire.length_m", "-2", "expected"},
		{"wire.joints", "2.5", "a whole number"},
		{"claimed", "90", "expected two figures"},
		{"claimed", "9 to 9", "two different ends"},
		{"shape", "cube", "There is no such shape"},
		{"on.kind", "swinging-arm", "It has to be measured"},
		{"sensor.x_mm", "9 m", "sensor"},
		{"turn_deg", "a quarter", "expected -360 to 360"},
	} {
		status, text := b.post(path, tankFields(gas, "tank", "Gas", c.name, c.value)...)
		text = html.UnescapeString(text)
		if status != 422 || !strings.Contains(text, c.want) {
			t.Errorf("%s = %q: %d, %s; expected 422 with %q", c.name, c.value, status, faultIn(text), c.want)
			continue
		}
		if c.name != "contents" && c.name != "shape" && c.name != "on.kind" && c.name != "lying.heads" && !strings.Contains(text, fmt.Sprintf(`name="%s" value="%s"`, c.name, c.value)) {
			t.Errorf("%s = %q isn't in the page any more", c.name, c.value)
		}
		if !strings.Contains(text, `class="wrong"`) && c.name != "permitted_fill_pct" {
			t.Errorf("%s = %q: nothing stands at a field: %s", c.name, c.value, faultIn(text))
		}
	}
	if after, _ := b.job(id).Encode(); !bytes.Equal(before, after) {
		t.Error("something was kept")
	}
	if status, _ := b.post(path, tankFields(gas, "tank", "Another")...); status != 409 {
		t.Errorf("for a tank of another name: %d; expected 409", status)
	}
	if status, text := b.post(path, tankFields(gas, "tank", "Gas", "was", "elsewhere", "name", "Mine")...); status != 422 || !strings.Contains(text, "changed on another page") || !strings.Contains(text, `value="Mine"`) {
		t.Errorf("changed elsewhere in the meantime: %d, %s", status, faultIn(text))
	}
}

// What the page says is what the command line says of the same tank file, but for
// the weights, which stand in words of their own.
func TestTankTells(t *testing.T) {
	b := open(t)
	j := sample(t)
	id := b.start(j)
	for n, name := range []string{"gas", "water"} {
		file, err := tankfile.ReadFile("../../cmd/gaugewright/sample/" + name + ".tank.json")
		if err != nil {
			t.Fatal(err)
		}
		made, found, err := file.Tank(nil)
		if err != nil {
			t.Fatal(err)
		}
		sender, err := file.SenderIn(made)
		if err != nil {
			t.Fatal(err)
		}
		r := telling.TankReport{File: file, Tank: made, Levels: made.Upright(), Sender: sender, Findings: found}
		want := r.Lines()
		g, notes := r.Heights()
		for _, row := range g.Rows {
			want = append(want, row...)
		}
		if err := r.Tell(true); err != nil {
			t.Fatal(err)
		}
		for _, f := range r.Findings {
			want = append(want, f.Text)
		}
		status, text := b.get(fmt.Sprintf("/jobs/%s/%d/tank?lean=1", id, n+1))
		text = html.UnescapeString(text)
		if status != 200 {
			t.Fatalf("%s: %d", name, status)
		}
		for _, line := range append(want, notes...) {
			if !strings.Contains(text, ">"+line+"<") && !strings.Contains(text, "</b> "+line+"<") {
				t.Errorf("%s: the page lacks %q", name, line)
			}
		}
	}
}

func TestTankLook(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	path := fmt.Sprintf("/jobs/%s/1/tank", id)
	gas := b.job(id).Tanks[0]
	before, _ := b.job(id).Encode()
	status, text := b.post(path+"/look", tankFields(gas, "shape", "box", "box.length_mm", "500", "box.width_mm", "400", "box.height_mm", "270", "wall_mm", "")...)
	if status != 200 || !strings.Contains(text, "holds 54 L and is 270 mm high inside") || !strings.Contains(text, "<svg") || strings.Contains(text, "<html") || !strings.Contains(text, "The plate says 54 L.") {
		t.Errorf("%d\n%s", status, text)
	}
	if status, text = b.post(path+"/look", tankFields(gas, "shape", "box", "box.length_mm", "50", "box.width_mm", "wide")...); status != 200 || !strings.Contains(text, "Not drawn yet. Width, athwart") || strings.Contains(text, "<svg") {
		t.Errorf("%d\n%s", status, text)
	}
	// Without scripts the button does the same.
	if status, text = b.post(path, tankFields(gas, "tank", "Gas", "do", "look", "shape", "box", "box.length_mm", "500", "box.width_mm", "400", "box.height_mm", "270", "wall_mm", "")...); status != 200 || !strings.Contains(text, "holds 54 L") || !strings.Contains(text, `value="270"`) {
		t.Errorf("%d, %s", status, faultIn(text))
	}
	if status, text = b.post(path, tankFields(gas, "tank", "Gas", "do", "claim", "name", "As typed")...); status != 200 || strings.Count(text, `name="claimed"`) != 3 || !strings.Contains(text, `value="As typed"`) {
		t.Errorf("a span more: %d, %d fields", status, strings.Count(text, `name="claimed"`))
	}
	if after, _ := b.job(id).Encode(); !bytes.Equal(before, after) {
		t.Error("looking changed the job")
	}
}

// A shape that stands in a file of its own is shown as such, kept through the
// page, and can be replaced there.
func TestTankOfMesh(t *testing.T) {
	j := sample(t)
	j.Tanks = j.Tanks[2:3]
	j.Tanks[0].Shape = &tankfile.File{Body: tankfile.Body{Shape: tankfile.Mesh, MeshFile: "hut.stl"}}
	b := open(t)
	id := b.start(j)
	path := fmt.Sprintf("/jobs/%s/1/tank", id)
	status, text := b.get(path)
	if text = html.UnescapeString(text); status != 200 || !strings.Contains(text, "a closed mesh, in a file of its own") || !strings.Contains(text, `"hut.stl", which isn't here`) {
		t.Errorf("%d\n%s", status, text)
	}
	if status, text = b.post(path, tankFields(b.job(id).Tanks[0], "tank", "Diesel", "heel_l", "2")...); status != 200 || b.job(id).Tanks[0].Shape.MeshFile != "hut.stl" || b.job(id).Tanks[0].HeelL != 2 {
		t.Errorf("%d, %s", status, faultIn(text))
	}
	if status, text = b.post(path, tankFields(b.job(id).Tanks[0], "tank", "Diesel", "shape", "table", "table.table", "0 0\n300 62")...); status != 200 || b.job(id).Tanks[0].Shape.Shape != tankfile.Strapping {
		t.Errorf("%d, %s", status, faultIn(text))
	}
}

// Other contents are stated with none of what was stated of the old ones, and what
// is stated twice, in the tank and in its shape, follows the page.
func TestTankOtherContents(t *testing.T) {
	j := sample(t)
	j.Tanks = j.Tanks[:1]
	j.Tanks[0].Setting, j.Tanks[0].Checks = nil, nil
	b := open(t)
	id := b.start(j)
	path := fmt.Sprintf("/jobs/%s/1/tank", id)
	status, text := b.post(path, tankFields(j.Tanks[0], "tank", "Gas", "contents", "petrol", "water_capacity_l", "13 USgal", "permitted_fill_pct", "95", "heel_l", "12 mm")...)
	if status != 200 {
		t.Fatalf("%d, %s", status, faultIn(text))
	}
	got := b.job(id).Tanks[0]
	if got.Contents != job.Petrol || got.Gas != nil || got.Loads != nil || got.PermittedFillPct != 95 || got.Shape.PermittedFillPct != 0 || got.Shape.CapacityL != 0 ||
		got.Shape.HeelMM == nil || *got.Shape.HeelMM != 12 || got.WaterCapacityL < 49.2 || got.WaterCapacityL > 49.22 {
		t.Errorf("kept: %+v\n%+v", got, got.Shape)
	}
	if status, text = b.post(path, tankFields(got, "tank", "Gas", "contents", "lpg")...); status != 422 || !strings.Contains(text, "for lpg no permitted fill above 85") {
		t.Errorf("95 %% of gas: %d, %s", status, faultIn(text))
	}
	if !strings.Contains(text, "Petrol") && !strings.Contains(text, "Fuel") && !strings.Contains(text, `class="cautions"`) {
		t.Error("no cautions")
	}
}

// sendFile sends a file to a page.
func (b *bench) sendFile(path, name string, data []byte) (int, string) {
	b.t.Helper()
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	_ = form.WriteField("tank", "Gas")
	_ = form.WriteField("do", "upload")
	part, err := form.CreateFormFile("file", name)
	if err != nil {
		b.t.Fatal(err)
	}
	_, _ = part.Write(data)
	_ = form.Close()
	return b.answer(http.Post(b.url+path, form.FormDataContentType(), io.Reader(&body)))
}

func TestTankUpload(t *testing.T) {
	b := open(t)
	id := b.start(sample(t))
	path := fmt.Sprintf("/jobs/%s/1/tank", id)
	stack := `{"version":1,"name":"<script>alert(1)</script>","shape":"stack","parts":[{"shape":"box","length_mm":400,"width_mm":300,"height_mm":200},{"shape":"box","length_mm":500,"width_mm":300,"height_mm":200}]}`
	status, text := b.sendFile(path, "stack.json", []byte(stack))
	if status != 200 || !strings.Contains(text, "a stack of 2 parts, from a file") || !strings.Contains(text, "holds 54 L") || strings.Contains(text, "<script>alert") {
		t.Fatalf("%d, %s", status, faultIn(text))
	}
	gas := b.job(id).Tanks[0]
	if gas.Shape == nil || gas.Shape.Shape != tankfile.Stack || gas.Shape.Version != 0 {
		t.Fatalf("kept: %+v", gas.Shape)
	}
	// It is kept through the page, and can be replaced there.
	if status, text = b.post(path, tankFields(gas, "tank", "Gas", "sender.description", "new words")...); status != 200 || len(b.job(id).Tanks[0].Shape.Parts) != 2 {
		t.Errorf("%d, %s", status, faultIn(text))
	}
	if status, text = b.post(path, tankFields(gas, "tank", "Gas", "shape", "box", "box.length_mm", "500", "box.width_mm", "400", "box.height_mm", "270", "wall_mm", "")...); status != 200 || b.job(id).Tanks[0].Shape.Shape != tankfile.Box {
		t.Errorf("%d, %s", status, faultIn(text))
	}
	before, _ := b.job(id).Encode()
	for _, c := range []struct {
		name, data, want string
		status           int
	}{
		{"part.stl", "solid part\nfacet normal 0 0 1", "part.stl:1:1", 422},
		{"mesh.json", `{"version":1,"shape":"mesh","file":"hut.stl"}`, "which can't be sent with it", 422},
		{"in.json", `{"version":1,"shape":"joined","parts":[{"shape":"strapping","csv":"a.csv"}]}`, "which can't be sent with it", 422},
		{"field.json", "{\"version\": 1,\n\"shape\": \"box\", \"lenght_mm\": 4}", "field.json:2:", 422},
		{"none.json", "", "none.json", 422},
		{"fill.json", `{"version":1,"shape":"box","length_mm":500,"width_mm":400,"height_mm":270,"permitted_fill_pct":95}`, "permitted", 422},
		{"large.json", strings.Repeat(" ", 2<<20), "larger than 1 MiB", 413},
	} {
		status, text := b.sendFile(path, c.name, []byte(c.data))
		if text = html.UnescapeString(text); status != c.status || !strings.Contains(text, c.want) {
			t.Errorf("%s: %d, %s; expected %d with %q", c.name, status, faultIn(text), c.status, c.want)
		}
	}
	if after, _ := b.job(id).Encode(); !bytes.Equal(before, after) {
		t.Error("a refused file was kept")
	}
}

// remembered is a store that has a job at hand, as a real one does of a job that
// was looked at just before.
type remembered struct {
	*memory
	kept *job.Kept
}

func (r remembered) Job(context.Context, job.ID) (*job.Kept, error) { return r.kept, nil }

// pageBench asks for a page over and over.
func pageBench(b *testing.B, ask func(path string) *http.Request) {
	j, err := job.ReadFile("testdata/sample.job.json")
	if err != nil {
		b.Fatal(err)
	}
	store := newMemory()
	id, err := store.Start(context.Background(), "k", j, sunday)
	if err != nil {
		b.Fatal(err)
	}
	kept, err := store.Job(context.Background(), id)
	if err != nil {
		b.Fatal(err)
	}
	s, err := New(Options{Store: remembered{store, kept}})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		w := httptest.NewRecorder()
		r := ask("http://localhost/jobs/" + string(id))
		if s.ServeHTTP(w, r); w.Code != 200 {
			b.Fatalf("%d\n%s", w.Code, w.Body)
		}
	}
}

func get(page string) func(string) *http.Request {
	return func(path string) *http.Request { return httptest.NewRequest("GET", path+page, nil) }
}

func BenchmarkTankPage(b *testing.B) {
	b.Run("gas", func(b *testing.B) { pageBench(b, get("/1/tank")) })
	b.Run("water", func(b *testing.B) { pageBench(b, get("/2/tank")) })
	j, err := job.ReadFile("testdata/sample.job.json")
	if err != nil {
		b.Fatal(err)
	}
	n := 0
	b.Run("look", func(b *testing.B) {
		pageBench(b, func(path string) *http.Request {
			v := tankValues(j.Tanks[0], quantity.Units{})
			n++ // another tank each time, as it is typed
			v.Set("lying.overall_length_mm", fmt.Sprint(812+float64(n)/1000))
			r := httptest.NewRequest("POST", path+"/1/tank/look", strings.NewReader(v.Encode()))
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			return r
		})
	})
}
