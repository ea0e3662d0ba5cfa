package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/browser"
	"gaugewright/internal/job"
	"gaugewright/internal/store/sqlite"
)

// The program is killed twenty times while readings are taken on a page, at
// moments that differ each time. What the page has shown as taken is in the data
// file; what was sent and not answered is sent again, and none is there twice.
func TestKilledInASweep(t *testing.T) {
	t.Parallel()
	const takes, kills = 40, 20
	data := filepath.Join(t.TempDir(), "w.db")
	id := begunJob(t, data)
	server := begin(t, "serve", "--data", data, "--listen", "127.0.0.1:0")
	at := server.address()
	ctx := browser.Open(t)
	browser.View(t, ctx, 820, 1180, false)
	p := &person{t, ctx, false}
	browser.Go(t, ctx, server.url+"jobs/"+string(id)+"/1/bench")
	random := rand.New(rand.NewPCG(20, 25)) // #nosec: moments, not secrets
	killed := 0
	for n := 1; n <= takes; n++ {
		p.wait(`document.querySelector("#ohm").value === ""`)
		mark := fmt.Sprint((n - 1) % 11 * 10)
		p.write("#mark", mark)
		p.write("#ohm", fmt.Sprintf("%d.%d", n, n%10))
		dies := killed*takes < kills*n && (killed < kills)
		gone := make(chan struct{})
		if dies {
			killed++
			wait := time.Duration(random.IntN(40)) * time.Millisecond
			go func() {
				defer close(gone)
				time.Sleep(wait)
				server.kill()
			}()
		} else {
			close(gone)
		}
		p.press("#takebutton")
		<-gone
		if dies {
			shown := strip(p)
			kept := keptOhms(t, data, id)
			if !begins(kept, shown) {
				t.Fatalf("killed at take %d: the page shows %v as taken and the file has %v", n, shown, kept)
			}
			server = begin(t, "serve", "--data", data, "--listen", at)
		}
		p.wait(`document.querySelectorAll("#strip li").length === ` + strconv.Itoa(n))
		p.wait(`document.querySelector("#unsent").hidden`)
	}
	if killed != kills {
		t.Errorf("the program was killed %d times; expected %d", killed, kills)
	}
	kept := keptOhms(t, data, id)
	for n := 1; n <= takes; n++ {
		if want := fmt.Sprintf("%d.%d", n, n%10); n > len(kept) || kept[n-1] != want {
			t.Fatalf("the file has %v; expected %s at place %d", kept, want, n)
		}
	}
	if len(kept) != takes {
		t.Errorf("the file has %d readings; expected %d", len(kept), takes)
	}
}

// begunJob makes a data file with one job that has a dial and no reading.
func begunJob(t *testing.T, data string) job.ID {
	t.Helper()
	s, err := sqlite.Open(t.Context(), data, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	j := hutJob()
	j.Tanks[1].Bench.Marks = "mark_pct"
	j.Tanks = j.Tanks[1:]
	id, err := s.Start(t.Context(), "", j, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return id
}

// keptOhms gives the ohms in the data file, in the order taken, as another
// program finds them.
func keptOhms(t *testing.T, data string, id job.ID) []string {
	t.Helper()
	s, err := sqlite.Open(context.Background(), data, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	k, err := s.Job(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, r := range k.Job.Tanks[0].Bench.Readings {
		out = append(out, strconv.FormatFloat(r.Ohm, 'f', 1, 64))
	}
	return out
}

// strip gives the ohms that the page shows as taken, in the order taken.
func strip(p *person) []string {
	text := p.eval(`[...document.querySelectorAll("#strip li .o")].map((o) => parseFloat(o.innerText).toFixed(1)).reverse().join(" ")`)
	return strings.Fields(text)
}

// begins says whether a list begins with another.
func begins(list, with []string) bool {
	if len(with) > len(list) {
		return false
	}
	for i, v := range with {
		if list[i] != v {
			return false
		}
	}
	return true
}
