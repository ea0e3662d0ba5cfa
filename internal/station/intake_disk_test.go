package station

import (
	"bufio"
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"gaugewright/internal/feed/mqtt"
	"gaugewright/internal/store/sqlite"
	"gaugewright/internal/watch"
)

// brokerVariable has the test program be a broker with its file at a path.
const brokerVariable = "GAUGEWRIGHT_STATION_BROKER"

// TestBeABroker is that broker, where it is asked for: it says where it listens,
// and works until it is killed.
func TestBeABroker(t *testing.T) {
	path := os.Getenv(brokerVariable)
	if path == "" {
		return // this is the parent
	}
	store, err := sqlite.OpenReadings(context.Background(), path, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	b, err := mqtt.NewBroker(mqtt.Config{Listen: "127.0.0.1:0"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := b.Start(NewIntake(IntakeConfig{Keep: store})); err != nil {
		t.Fatal(err)
	}
	fmt.Println("listens at", b.Addr())
	select {}
}

// TestKilledBroker kills a broker, signal 9, while clients publish: each message
// that was acknowledged is on disk, once, with what came after it or without.
func TestKilledBroker(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "watch.db")
	var mu sync.Mutex
	acked := map[float64]bool{}
	const kills, clients = 5, 8
	for kill := range kills {
		cmd := exec.CommandContext(t.Context(), os.Args[0], "-test.run=^TestBeABroker$")
		cmd.Env = append(os.Environ(), brokerVariable+"="+path)
		cmd.Stderr = os.Stderr
		out, err := cmd.StdoutPipe()
		if err == nil {
			err = cmd.Start()
		}
		if err != nil {
			t.Fatal(err)
		}
		line, err := bufio.NewReader(out).ReadString('\n')
		address, ok := strings.CutPrefix(strings.TrimSpace(line), "listens at ")
		if err != nil || !ok {
			t.Fatalf("%q, %v", line, err)
		}
		var wg sync.WaitGroup
		for c := range clients {
			wg.Go(func() {
				published(t, address, float64(kill*clients+c)*1e6, func(v float64) {
					mu.Lock()
					defer mu.Unlock()
					acked[v] = true
				})
			})
		}
		time.Sleep(time.Duration(50+rand.IntN(150)) * time.Millisecond)
		if err := cmd.Process.Kill(); err != nil {
			t.Error(err)
		}
		_ = cmd.Wait() // it was killed
		wg.Wait()
	}
	s, err := sqlite.OpenReadings(t.Context(), path, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if err := s.Sound(t.Context()); err != nil {
		t.Error(err)
	}
	there := map[float64]int{}
	if err := s.Each(t.Context(), time.Time{}, time.Time{}, "", func(r watch.Reading) error { there[r.Value]++; return nil }); err != nil {
		t.Fatal(err)
	}
	for v := range acked {
		if there[v] != 1 {
			t.Errorf("%v was acknowledged, and is there %d times", v, there[v])
		}
	}
	if len(acked) < kills*clients {
		t.Errorf("only %d were acknowledged", len(acked))
	}
	t.Logf("%d acknowledged, %d on disk, %d kills", len(acked), len(there), kills)
}

// published publishes numbers from one on, several at a time, until the
// connection breaks, and tells which were acknowledged.
func published(t *testing.T, address string, from float64, acked func(float64)) {
	conn, err := net.Dial("tcp", address)
	if err != nil {
		t.Error(err)
		return
	}
	defer conn.Close()
	hello := []byte{0x10, 12, 0, 4, 'M', 'Q', 'T', 'T', 4, 2, 0, 60, 0, 0}
	if _, err := conn.Write(hello); err != nil {
		return
	}
	b := make([]byte, 4)
	if _, err := io.ReadFull(conn, b); err != nil || b[3] != 0 {
		return
	}
	const topic, window = "gaugewright/fresh/reading", 10
	for ; ; from += window {
		var packets []byte
		for i := range window {
			payload := fmt.Sprint(int(from) + i)
			body := append(binary.BigEndian.AppendUint16(nil, uint16(len(topic))), topic...)
			body = append(append(body, 0, byte(1+i)), payload...)
			packets = append(append(packets, 0x32, byte(len(body))), body...)
		}
		if _, err := conn.Write(packets); err != nil {
			return
		}
		for i := range window {
			if _, err := io.ReadFull(conn, b); err != nil {
				return
			}
			if b[0] != 0x40 || b[3] != byte(1+i) {
				t.Errorf("% x came; want the acknowledgement of %d", b, 1+i)
				return
			}
			acked(from + float64(i))
		}
	}
}

// TestFlood has a client publish faster than the disk takes it: no more waits
// than may, the client is slowed down, and once the disk is free all of it is
// acknowledged.
func TestFlood(t *testing.T) {
	t.Parallel()
	d := &disk{hold: make(chan struct{})}
	in := NewIntake(IntakeConfig{Keep: d, Most: 1000})
	b, err := mqtt.NewBroker(mqtt.Config{Listen: "127.0.0.1:0"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := b.Start(in); err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	defer b.Stop()
	conn, err := net.Dial("tcp", b.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	const topic = "gaugewright/fresh/reading"
	if _, err := conn.Write([]byte{0x10, 12, 0, 4, 'M', 'Q', 'T', 'T', 4, 2, 0, 60, 0, 0}); err != nil {
		t.Fatal(err)
	}
	acks := bufio.NewReader(conn)
	if _, err := acks.Discard(4); err != nil {
		t.Fatal(err)
	}
	body := append(binary.BigEndian.AppendUint16(nil, uint16(len(topic))), topic...)
	body = append(append(body, 0, 1), "118.4"...)
	packets := []byte(strings.Repeat(string(append([]byte{0x32, byte(len(body))}, body...)), 100))
	sent := 0
	for sent < 100*len(packets)*1000 { // a flood without end, nearly
		_ = conn.SetWriteDeadline(time.Now().Add(200 * time.Millisecond))
		n, err := conn.Write(packets)
		if sent += n; err != nil {
			break // it is being slowed down
		}
		if n := in.State().Waiting; n > 1000 {
			t.Fatalf("%d readings wait; want 1000 at most", n)
		}
	}
	if err := conn.SetWriteDeadline(time.Time{}); err != nil {
		t.Fatal(err)
	}
	whole := len(body) + 2
	if rest := sent % whole; rest > 0 { // the packet that was cut in two
		go func() { _, _ = conn.Write(packets[rest:whole]) }()
		sent += whole - rest
	}
	if d.has() > 0 {
		t.Error("something was kept")
	}
	close(d.hold)
	_ = conn.SetReadDeadline(time.Now().Add(20 * time.Second))
	n := sent / whole
	if got, err := acks.Discard(4 * n); err != nil {
		t.Errorf("%d of %d were acknowledged: %v", got/4, n, err)
	}
	if d.has() != n {
		t.Errorf("%d were kept; want %d", d.has(), n)
	}
	t.Logf("%d messages were sent before the client was slowed down", n)
}
