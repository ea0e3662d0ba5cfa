package web

import (
	"fmt"
	"testing"
	"time"

	"gaugewright/internal/job"
)

// Every page of a job answers, and soon, where a tank lacks what most have: its
// sender is known from a printed code or a type alone, or it was checked later and
// nothing was ever keyed in.
func TestJobsThatLackSomething(t *testing.T) {
	b := open(t)
	jobs := map[string]job.ID{
		"code":           b.start(known(t, "TK-2026-030")),
		"code, readings": b.start(known(t, "TK-2026-031")),
	}
	b.takes(jobs["code, readings"], "mark", "20", "ohm", "18.2")
	b.takes(jobs["code, readings"], "mark", "70", "ohm", "64.6")

	b.gatherHut("hut dial")
	for _, n := range []int{0, 1, 2} {
		j := oneOfType("", 70+n, 0, 0)
		j.Tanks[0].Bench.Readings, j.Tanks[0].Sender = j.Tanks[0].Bench.Readings[:2*n:2*n], job.Sender{}
		id := b.start(j)
		if status, text := b.post(jobPath(id)+"/1/type", "key", newKey(), "tank", "Water", "type", "hut dial"); status != 200 {
			t.Fatalf("%d\n%s", status, text)
		}
		jobs[fmt.Sprint("type, readings ", 2*n)] = id
	}
	for name, change := range map[string]func(*job.Tank){
		"later":                 func(*job.Tank) {},
		"later, no setting":     func(t *job.Tank) { t.Setting = nil },
		"later, no checks":      func(t *job.Tank) { t.Setting, t.Checks = nil, nil },
		"later, bench of two":   func(t *job.Tank) { t.Bench.Readings = t.Bench.Readings[:2] },
		"later, nothing on it":  func(t *job.Tank) { t.Bench.Readings, t.Setting, t.Checks = []job.Reading{}, nil, nil },
		"later, none taken yet": func(t *job.Tank) { t.Services[0].Readings = []job.Reading{} },
	} {
		j := sample(t)
		j.Number = name
		for i := range j.Tanks {
			tank := &j.Tanks[i]
			tank.Services = []job.Service{serviced(*tank, "2028-05-02", 3, func(v float64) float64 { return 1.04*v + 1 })}
			change(tank)
		}
		jobs[name] = b.start(j)
	}
	for name, id := range jobs {
		at := jobPath(id)
		paths := []string{"", "/facts", "/history", "/tanks", "/file", "/record", "/record/paper", "/record/paper?as=card", "/record/pdf", "/record/pdf?as=card", "/at/1/card", "/at/1/paper", "/at/1/file"}
		for n, tank := range b.job(id).Tanks {
			own := fmt.Sprintf("/%d/", n+1)
			paths = append(paths, own+"bench", own+"curve", own+"curve?value=20&mark=50", own+"prove", own+"tank", own+"contents", own+"set", own+"set?readout=table&points=4", own+"set?readout=ends-then-table&points=4", own+"later")
			for k := range tank.Services {
				paths = append(paths, fmt.Sprintf("%slater/%d/check", own, k+1))
			}
		}
		for _, path := range paths {
			began := time.Now()
			status, text := b.get(at + path)
			took := time.Since(began)
			if status != 200 {
				t.Errorf("%s: %s answers %d\n%.600s", name, path, status, text)
			}
			// Well above what it takes, for a machine that does other things too.
			if took > 30*time.Second {
				t.Errorf("%s: %s takes %v", name, path, took)
			}
			if took > 200*time.Millisecond {
				t.Logf("%s: %s takes %v", name, path, took)
			}
		}
	}
}
