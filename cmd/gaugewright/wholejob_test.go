package main

import (
	"context"
	"io"
	"math"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/browser"
	"gaugewright/internal/feed/meter/simulated"
	"gaugewright/internal/job"
	"gaugewright/internal/peer"
	"gaugewright/internal/quantity"
	"gaugewright/internal/span"
)

// invented is what the sender of the whole job gives at a mark, 0..1: no data
// sheet says so.
func invented(mark float64) float64 {
	moved := math.Max(0, mark-0.02) / 0.98
	return math.Round(10*(2+94*(moved+0.03*math.Sin(2*math.Pi*moved)))) / 10
}

// A whole job, from a data file that isn't there to a printed record: at the
// size of a tablet by touch, with a meter that is asked over a real socket.
func TestWholeJobByTouch(t *testing.T) { wholeJob(t, false) }

// The same by the keyboard alone.
func TestWholeJobByKeyboard(t *testing.T) { wholeJob(t, true) }

func wholeJob(t *testing.T, keys bool) {
	t.Parallel()
	ctx := browser.Open(t)
	browser.View(t, ctx, 820, 1180, false)
	bench, err := simulated.Listen("127.0.0.1:0", simulated.Options{Lag: time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	defer bench.Close()
	bench.SetOpen()
	server := begin(t, "serve", "--data", filepath.Join(t.TempDir(), "w.db"), "--listen", "127.0.0.1:0")
	p := &person{t, ctx, keys}

	browser.Go(t, ctx, server.url)
	p.see("#list", "There is no job here yet.")
	p.press(`a[href="/meters"]`)
	p.arrive("/meters")
	p.write("#name", "Bench meter")
	p.write("#address", bench.Addr())
	p.press(`form[action="/meters"] button.do`)
	p.see("#now", "open")

	p.press("a.home")
	p.arrive("/")
	p.write("#find", "Tidewater Kitchen")
	p.press("#start")
	p.arrive("/facts")
	p.write("#vehicle", "second trailer")
	p.write("#fitter", "R. Fitter")
	p.press("main form button.do")
	p.arrive("/tanks")
	p.choose("contents", "lpg")
	p.write("#name", "Gas")
	p.write("#water_capacity_l", "54 L")
	p.write("#permitted_fill_pct", "80")
	p.press("main form button.do")

	p.arrive("/bench")
	p.choose("marks", "mark_pct")
	p.press("form.made button.do")
	p.see("#ohms", "open")
	if p.eval(`document.querySelector("#takebutton").disabled`) != "true" && !keys {
		p.press("#takebutton")
		p.see("#strip", "None yet.") // an overload is no reading
	}
	taken := 0
	for range 21 { // up by tens and down again
		mark, err := strconv.ParseFloat(p.eval(`document.querySelector("#next").dataset.mark`), 64)
		if err != nil {
			t.Fatalf("no mark is suggested: %v", err)
		}
		ohms := invented(mark / 100)
		bench.SetOhms(ohms)
		p.see("#ohms", quantity.Digits(ohms, 1))
		time.Sleep(300 * time.Millisecond) // sooner, it would be taken for a switch that bounces
		p.press("#takebutton")
		taken++
		p.wait(`document.querySelectorAll("#strip li").length === ` + strconv.Itoa(taken))
	}

	p.press(`.steps a[href$="/curve"]`)
	p.arrive("/curve")
	p.see("main", "Rising: 2.0 Ω at 0 %, 96.0 Ω at 100 %.")
	p.press(`.steps a[href$="/set"]`)
	p.arrive("/set")
	p.choose("scale", "fill")
	p.press("#work-out")
	p.wait(`document.readyState === "complete" && location.search.includes("scale=fill")`)
	p.see("#key-in", "80 %")
	keyed := p.eval(`document.querySelector("#keep-best button.do").value`)
	p.press("#keep-best button.do")
	p.wait(`!document.querySelector("#key-in .note") || document.querySelector("#key-in").innerText.includes("eyed in")`)

	ends, err := span.ParseEnds(keyed)
	if err != nil {
		t.Fatalf("what the button keeps is %q: %v", keyed, err)
	}
	p.press(`.steps a[href$="/prove"]`)
	p.arrive("/prove")
	for n := range 5 {
		p.wait(`document.querySelectorAll("#marks .done").length === ` + strconv.Itoa(n))
		mark, err := strconv.ParseFloat(p.eval(`document.querySelector("#mark").value`), 64)
		if err != nil {
			t.Fatal(err)
		}
		shows := 100 * float64(ends.Show(quantity.Ohm(invented(mark/100))))
		p.write("#shown", strconv.Itoa(int(math.Round(shows))))
		p.press("button.take")
	}
	p.see("#verdict", "5 of 5 within 2 points")

	p.press(`.steps a[href$="/record"]`)
	p.arrive("/record")
	p.wait(`document.querySelector("#paper").contentDocument?.readyState === "complete"`)
	paper := p.eval(`document.querySelector("#paper").src`)
	file := download(t, p.eval(`document.querySelector('a[href$="/file"]').href`))
	made := download(t, p.eval(`document.querySelector('a[href*="/pdf"]').href`))
	browser.Go(t, ctx, paper)
	holds(t, "the printed record", browser.PDF(t, ctx, "A4"), ends)
	holds(t, "the record's PDF", made, ends)
	sameElsewhere(t, file, ends)
	if err := server.interrupt(); err != nil {
		t.Errorf("the program ended with %v", err)
	}
}

func download(t *testing.T, url string) []byte {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	r, err := http.NewRequestWithContext(ctx, "GET", url, nil)
	if err != nil {
		t.Fatal(err)
	}
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	data, err := io.ReadAll(answer.Body)
	if err != nil || answer.StatusCode != 200 {
		t.Fatalf("%s: %s, %v", url, answer.Status, err)
	}
	return data
}

// holds reads a PDF with poppler and looks for what a customer needs of it.
func holds(t *testing.T, what string, pdf []byte, ends span.Ends) {
	t.Helper()
	tool, err := exec.LookPath("pdftotext")
	if err != nil {
		peer.Missing(t, "no pdftotext found; install it: apt-get install poppler-utils")
	}
	file := filepath.Join(t.TempDir(), "record.pdf")
	if err := os.WriteFile(file, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(tool, "-raw", file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	text := strings.Join(strings.Fields(string(out)), " ")
	for _, want := range []string{"Tidewater Kitchen", "second trailer", "R. Fitter", ends.String(), "5 of 5 within 2 points", "21 readings", "Bench meter", "Never fill beyond the permitted fill"} {
		if !strings.Contains(text, want) {
			t.Errorf("%s lacks %q", what, want)
		}
	}
	if !regexp.MustCompile(`(?i)page 1 of [1-9]`).MatchString(text) {
		t.Errorf("the pages of %s aren't numbered", what)
	}
}

// sameElsewhere gives the job file of the pages to the command line, which comes
// to the same.
func sameElsewhere(t *testing.T, file []byte, ends span.Ends) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "one.job.json")
	if err := os.WriteFile(path, file, 0o600); err != nil {
		t.Fatal(err)
	}
	j, err := job.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for i, r := range j.Tanks[0].Bench.Readings {
		// The simulated meter has a little noise in its last digit, a hundredth.
		if want := invented(*r.MarkPct / 100); math.Abs(r.Ohm-want) > 0.05 {
			t.Errorf("reading %d at %g %% is %g; the meter gave %g", i+1, *r.MarkPct, r.Ohm, want)
		}
	}
	status, out, messages := command("", "job", "set", path, "--scale", "fill")
	if status != exitDone || messages != "" {
		t.Fatalf("status %d\n%s%s", status, out, messages)
	}
	for _, v := range []quantity.Ohm{ends.Lower, ends.Upper} {
		if !regexp.MustCompile(`\b` + quantity.Short(float64(v), 4) + " ohm|" + quantity.Short(float64(v), 4) + " Ω").MatchString(out) {
			t.Errorf("the command line says\n%s\nand the page had %s keyed in", out, ends)
		}
	}
}
