package station

import (
	"runtime"
	"sync"
	"testing"
	"time"

	"gaugewright/internal/watch"
)

// slowDisk takes a second over each commit, and looks how much memory is in use.
type slowDisk struct {
	kept int
	most uint64
}

func (d *slowDisk) Keep(list []watch.Reading) error {
	time.Sleep(time.Second)
	d.kept += len(list)
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	d.most = max(d.most, m.HeapAlloc)
	return nil
}

// TestFloodMemory has many send faster than a slow disk takes it, some of whom can
// be told to wait and some of whom can't: the memory that is used has a bound, and
// what finds no room is counted.
func TestFloodMemory(t *testing.T) {
	runtime.GC()
	var before runtime.MemStats
	runtime.ReadMemStats(&before)
	d := new(slowDisk)
	sent, acked, refused, offered := 0, 0, 0, 0
	var lost uint64
	bubbled(t, IntakeConfig{Keep: d, Show: func([]watch.Reading) {}, Every: 10 * time.Second}, func(t *testing.T, in *Intake) {
		var mu sync.Mutex
		var wg sync.WaitGroup
		for range 40 {
			wg.Go(func() {
				for range 80 {
					list := make([]watch.Reading, 100)
					mu.Lock()
					sent += len(list)
					mu.Unlock()
					in.Later(list, func(err error) {
						mu.Lock()
						defer mu.Unlock()
						if err == nil {
							acked += len(list)
						} else {
							refused += len(list)
						}
					})
				}
			})
		}
		for range 5 {
			wg.Go(func() {
				for range 200 {
					in.Offer("can/boat", make([]watch.Reading, 100))
					mu.Lock()
					offered += 100
					mu.Unlock()
					time.Sleep(10 * time.Millisecond)
				}
			})
		}
		wg.Wait()
		for in.State().Waiting > 0 {
			time.Sleep(time.Second)
		}
		for _, l := range in.Lost() {
			lost += l.N
		}
	})
	if grown := int64(d.most) - int64(before.HeapAlloc); grown > 40<<20 {
		t.Errorf("the memory in use grew by %d MB", grown>>20)
	} else {
		t.Logf("the memory in use grew by %d MB over %d readings", grown>>20, sent+offered)
	}
	if acked+refused != sent || d.kept != acked+offered-int(lost) || lost == 0 || acked < sent/2 {
		t.Errorf("%d sent, %d acknowledged, %d not taken; %d offered, %d lost; %d kept", sent, acked, refused, offered, lost, d.kept)
	}
}
