package main

import (
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"net"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/eclipse/paho.golang/paho"

	"gaugewright/internal/watch"
)

// loadTanks are the tanks that a load has readings of.
var loadTanks = []string{"fresh", "grey", "diesel", "gas"}

// load is a client that numbers its readings, sends each until it has been
// acknowledged, some of them more than once, and knows which was.
type load struct {
	base time.Time
	each int // readings in a message

	mu     sync.Mutex
	random *rand.Rand
	made   int       // readings that were numbered
	turn   int       // messages that were made
	again  []message // to be sent again: not acknowledged, or to see that they count once
	acked  map[int]bool

	messages, repeated atomic.Int64
}

// message is some readings of one tank.
type message struct {
	tank    string
	numbers []int
}

func newLoad(seed uint64, each int, base time.Time) *load {
	return &load{base: base, each: each, random: rand.New(rand.NewPCG(seed, 20)), acked: map[int]bool{}}
}

// reading gives the reading of a number: no two have the same time, and its
// value tells, too, which it is. One in ten is a day late, one in a hundred says
// that there is no value.
func (l *load) reading(n int) watch.Reading {
	at := l.base.Add(time.Duration(n) * 251 * time.Millisecond)
	if n%10 == 7 {
		at = at.Add(-24 * time.Hour)
	}
	r := watch.Reading{Tank: loadTanks[n/l.each%len(loadTanks)], Time: at, Value: float64(200+n%1700) / 10}
	if n%100 == 99 {
		r.Said, r.Value = watch.Unavailable, 0
	}
	return r
}

// take gives the next message to be sent: one that has to be sent again, or else
// new ones, where there are to be any.
func (l *load) take(more bool) (m message, ok bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if n := len(l.again); n > 0 {
		i := l.random.IntN(n)
		m := l.again[i]
		l.again = slices.Delete(l.again, i, i+1)
		return m, true
	}
	if !more {
		return m, false
	}
	for range l.each {
		m.tank = l.reading(l.made).Tank
		m.numbers = append(m.numbers, l.made)
		l.made++
	}
	if l.turn++; l.turn%8 == 0 { // one of it twice in the same message
		m.numbers = append(m.numbers, m.numbers[0])
	}
	return m, true
}

// left says whether something still has to be sent.
func (l *load) left() bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return len(l.again) > 0 || len(l.acked) < l.made
}

func (l *load) came(m message, acknowledged bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if !acknowledged {
		l.again = append(l.again, m)
		return
	}
	for _, n := range m.numbers {
		l.acked[n] = true
	}
	if l.random.IntN(25) == 0 {
		l.again = append(l.again, m)
		l.repeated.Add(1)
	}
}

// payload is a message's, as docs/watching.md has it.
func (l *load) payload(m message) []byte {
	list := make([]map[string]any, len(m.numbers))
	for i, n := range m.numbers {
		r := l.reading(n)
		list[i] = map[string]any{"ohm": r.Value, "time": r.Time.Format("2006-01-02T15:04:05.000Z07:00")}
		if r.Said == watch.Unavailable {
			list[i]["ohm"] = nil
		}
	}
	text, err := json.Marshal(list)
	if err != nil {
		panic(err) // it is made of numbers and texts
	}
	return text
}

// send sends over one connection, so many messages at a time, until the
// connection breaks or, where it is to come to an end, all is acknowledged.
func (l *load) send(t *testing.T, address string, window int, toTheEnd bool) {
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	conn, err := net.Dial("tcp", address)
	if err != nil {
		if toTheEnd {
			t.Errorf("no connection: %v", err)
		}
		return // killed before
	}
	defer conn.Close()
	client := paho.NewClient(paho.ClientConfig{
		ClientID: "load", Conn: conn, PacketTimeout: time.Minute,
		OnClientError:      func(error) { cancel() },
		OnServerDisconnect: func(*paho.Disconnect) { cancel() },
	})
	if ack, err := client.Connect(ctx, &paho.Connect{ClientID: "load", KeepAlive: 30, CleanStart: true}); err != nil {
		if toTheEnd {
			t.Errorf("not let in: %v, %+v", err, ack)
		}
		return
	}
	var wg sync.WaitGroup
	for range window {
		wg.Go(func() {
			for ctx.Err() == nil && !(toTheEnd && !l.left()) {
				m, ok := l.take(!toTheEnd)
				if !ok { // the rest is under way
					time.Sleep(time.Millisecond)
					continue
				}
				l.messages.Add(1)
				answer, err := client.Publish(ctx, &paho.Publish{Topic: "gaugewright/" + m.tank + "/reading", QoS: 1, Payload: l.payload(m)})
				l.came(m, err == nil && answer.ReasonCode < 0x80)
				if err != nil && answer != nil && answer.ReasonCode >= 0x80 {
					t.Errorf("refused: %v", err)
					return
				}
			}
		})
	}
	wg.Wait()
	if toTheEnd && ctx.Err() == nil {
		_ = client.Disconnect(&paho.Disconnect{}) // all was acknowledged
	}
}

// differences says what of a load is lost, doubled, or was never sent, going by
// what is kept: each reading by its tank and time.
func (l *load) differences(kept []watch.Reading) []string {
	l.mu.Lock()
	defer l.mu.Unlock()
	type key struct {
		tank string
		at   int64
	}
	sent := make(map[key]int, l.made)
	for n := range l.made {
		r := l.reading(n)
		sent[key{r.Tank, r.Time.UnixMilli()}] = n
	}
	var lost, doubled, strange int
	var list []string
	say := func(count *int, format string, args ...any) {
		if *count++; *count <= 5 {
			list = append(list, fmt.Sprintf(format, args...))
		}
	}
	times := make(map[int]int, l.made)
	for _, r := range kept {
		n, ok := sent[key{r.Tank, r.Time.UnixMilli()}]
		want := l.reading(n)
		if !ok || r.Value != want.Value || r.Said != want.Said || r.Clock != watch.SourceClock || r.Signal != watch.Ohm || !r.Time.Equal(want.Time) {
			say(&strange, "kept and never sent: %+v", r)
			continue
		}
		if times[n]++; times[n] == 2 {
			say(&doubled, "doubled: reading %d, %+v", n, r)
		}
	}
	for n := range l.acked {
		if times[n] == 0 {
			say(&lost, "acknowledged and lost: reading %d, %+v", n, l.reading(n))
		}
	}
	if lost+doubled+strange > 0 {
		list = append(list, fmt.Sprintf("of %d readings (%d acknowledged), %d kept: %d lost, %d doubled, %d never sent", l.made, len(l.acked), len(kept), lost, doubled, strange))
	}
	return list
}
