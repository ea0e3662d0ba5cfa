package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"time"

	"gaugewright/internal/store/sqlite"
	"gaugewright/internal/watch"
)

// trial says which moments of a recording are tried, and how.
type trial struct {
	folder  string // for files
	moments int    // 0: each
	some    int
	other   int
	seed    uint64
}

// found is what came of trials.
type found struct {
	moments, trials, none, all, some int
	other                            int // files that the sqlite3 program looked at
	repairs                          map[string]int
	faulty                           int
	faults                           []string // the first few
	longest                          time.Duration
}

func (f *found) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%d moments, %d trials: %d with what was made to last alone, %d with all that was written, %d with some of it, torn; %d of the files looked at by sqlite3 as well\n",
		f.moments, f.trials, f.none, f.all, f.some, f.other)
	fmt.Fprintf(&b, "at fault: %d; opening took %v at the most", f.faulty, f.longest.Round(time.Millisecond))
	for said, n := range f.repairs {
		fmt.Fprintf(&b, "\n%6d times it said: %s", n, said)
	}
	for _, fault := range f.faults {
		fmt.Fprintf(&b, "\nFAULT %s", fault)
	}
	return b.String()
}

// power is a cut: the files after it and what has to be in them.
type power struct {
	moment int
	how    string
	files  map[string][]byte
	acked  map[int]bool
	seed   uint64
	other  bool
}

// all tries the moments of a recording.
func (t trial) all(r *recording) (*found, error) {
	var boundaries []int
	for i, e := range r.events {
		if e.kind != opened || i > 0 {
			boundaries = append(boundaries, i)
		}
	}
	chosen := map[int]bool{}
	random := rand.New(rand.NewPCG(t.seed, 1)) // #nosec: moments, not secrets
	if t.moments == 0 || t.moments >= len(boundaries) {
		for _, i := range boundaries {
			chosen[i] = true
		}
	} else {
		for n := range t.moments { // one in each stretch
			from, to := n*len(boundaries)/t.moments, (n+1)*len(boundaries)/t.moments
			chosen[boundaries[from+random.IntN(to-from)]] = true
		}
	}
	f := &found{moments: len(chosen), repairs: map[string]int{}}
	var mu sync.Mutex
	var wg sync.WaitGroup
	cuts := make(chan power)
	for n := range max(2, runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			place := filepath.Join(t.folder, fmt.Sprintf("powercut-%d-%d", os.Getpid(), n))
			defer os.RemoveAll(place)
			for p := range cuts {
				t.one(r, p, place, f, &mu)
			}
		})
	}
	err := t.cut(r, chosen, random, cuts)
	close(cuts)
	wg.Wait()
	return f, err
}

// cut goes through a recording and cuts at the moments that were chosen: just
// after an event.
func (t trial) cut(r *recording, chosen map[int]bool, random *rand.Rand, cuts chan<- power) error {
	d := newDisk(r.folder)
	acked := map[int]bool{}
	streams := map[string][]byte{}
	n, run := 0, 0
	give := func(moment int, how string, files map[string][]byte) {
		n++
		cuts <- power{moment, how, files, acked, random.Uint64(), t.other > 0 && n%t.other == 0}
	}
	for i, e := range r.events {
		d.put(e)
		switch e.kind {
		case restarted:
			run++
		case told:
			numbers, rest, err := acknowledged(append(streams[e.path], e.data...))
			if err != nil {
				return err
			}
			streams[e.path] = rest
			if len(numbers) > 0 { // those that are being tried look at the old list
				more := make(map[int]bool, len(acked))
				for n := range acked {
					more[n] = true
				}
				for _, number := range numbers {
					m := r.sent.messages[run][number]
					if m == nil {
						return fmt.Errorf("packet %d of run %d is acknowledged and wasn't sent", number, run+1)
					}
					for _, reading := range m {
						more[reading] = true
					}
				}
				acked = more
			}
		}
		if !chosen[i] {
			continue
		}
		give(i, "only what was made to last", d.only())
		give(i, "all", d.all())
		for range t.some {
			give(i, "some", d.some(random))
		}
	}
	return nil
}

// one tries one cut.
func (t trial) one(r *recording, p power, place string, f *found, mu *sync.Mutex) {
	repairs, took, err := t.opened(r, p, place)
	mu.Lock()
	defer mu.Unlock()
	f.trials++
	switch p.how {
	case "all":
		f.all++
	case "some":
		f.some++
	default:
		f.none++
	}
	if p.other {
		f.other++
	}
	f.longest = max(f.longest, took)
	for _, said := range repairs {
		f.repairs[said]++
	}
	if err != nil {
		if f.faulty++; len(f.faults) < 10 {
			f.faults = append(f.faults, fmt.Sprintf("after event %d of %d (%s): %v", p.moment, len(r.events), p.how, err))
		}
	}
}

// opened opens the files after a cut as the program does, and says what is wrong.
func (t trial) opened(r *recording, p power, place string) (repairs []string, took time.Duration, err error) {
	if err := os.RemoveAll(place); err != nil {
		return nil, 0, err
	}
	if err := os.Mkdir(place, 0o700); err != nil {
		return nil, 0, err
	}
	random := rand.New(rand.NewPCG(p.seed, 2)) // #nosec: bytes, not secrets
	for name, b := range p.files {
		if strings.HasSuffix(name, "-shm") {
			// It is mapped into memory, so its bytes aren't traced, and nothing that
			// lasts rests on it: it may be gone, or have anything in it.
			if random.IntN(2) == 0 {
				continue
			}
			for i := range b {
				b[i] = byte(random.Uint32())
			}
		}
		if err := os.WriteFile(filepath.Join(place, filepath.Base(name)), b, 0o600); err != nil {
			return nil, 0, err
		}
	}
	data := filepath.Join(place, dataName)
	if _, there := p.files[filepath.Join(r.folder, dataName)]; p.other && there {
		if err := others(data); err != nil {
			return nil, 0, err
		}
	}
	ctx, begun := context.Background(), time.Now()
	s, err := sqlite.OpenReadings(ctx, data, sqlite.Options{})
	if err != nil {
		return nil, 0, fmt.Errorf("it can't be opened: %w", err)
	}
	took = time.Since(begun)
	if says, ok := any(s).(interface{ Repairs() []string }); ok {
		repairs = says.Repairs()
	}
	err = s.Sound(ctx)
	var kept []watch.Reading
	if err == nil {
		kept, err = s.Recent(ctx, time.Time{})
	}
	if err == nil {
		err = r.sent.differs(kept, p.acked)
	}
	if closing := s.Close(); err == nil {
		err = closing
	}
	return repairs, took, err
}

// others has the sqlite3 program look at a copy of the file.
func others(data string) error {
	copied := filepath.Join(filepath.Dir(data), "copy.db")
	for _, end := range []string{"", "-wal", "-journal"} {
		b, err := os.ReadFile(data + end)
		if err != nil {
			continue
		}
		if err := os.WriteFile(copied+end, b, 0o600); err != nil {
			return err
		}
	}
	out, err := exec.Command("sqlite3", copied, "PRAGMA integrity_check").CombinedOutput()
	if got := strings.TrimSpace(string(out)); err != nil || got != "ok" {
		return fmt.Errorf("sqlite3 says %q, %w", got, err)
	}
	return nil
}

// differs says what is lost, doubled, or was never sent.
func (s *sent) differs(kept []watch.Reading, acked map[int]bool) error {
	times := make(map[int]int, len(kept))
	late := int64(time.Hour / time.Millisecond)
	for _, r := range kept {
		ms := r.Time.Sub(s.base).Milliseconds()
		if ms%251 != 0 || ms < 0 || ms/251%10 == 7 {
			ms += late
		}
		n := int(ms / 251)
		if n < 0 || n >= s.made {
			return fmt.Errorf("%+v is kept and wasn't sent", r)
		}
		if want := s.reading(n); r.Tank != want.Tank || !r.Time.Equal(want.Time) || r.Value != want.Value {
			return fmt.Errorf("%+v is kept; expected %+v", r, want)
		}
		if times[n]++; times[n] > 1 {
			return fmt.Errorf("reading %d is there %d times", n, times[n])
		}
	}
	lost, first := 0, -1
	for n := range acked {
		if times[n] == 0 {
			lost++
			if first < 0 || n < first {
				first = n
			}
		}
	}
	if lost > 0 {
		return fmt.Errorf("%d readings are lost of %d acknowledged, the first is number %d; %d are kept", lost, len(acked), first, len(kept))
	}
	return nil
}
