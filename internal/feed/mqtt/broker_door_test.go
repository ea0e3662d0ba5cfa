package mqtt

import (
	"fmt"
	"net"
	"strings"
	"sync"
	"testing"
	"time"
)

// TestUsers: whoever isn't on the list doesn't get in.
func TestUsers(t *testing.T) {
	sink := new(held)
	b := inside(t, Config{Users: map[string]string{"ecu": "a long word"}}, sink)
	try := func(name, password string) (*wire, byte) {
		w := dialRaw(t, b)
		body := append(lengthed("MQTT"), 4, 0xc2, 0, 60)
		body = append(body, lengthed("")...)
		w.send(framed(0x10, append(append(body, lengthed(name)...), lengthed(password)...)))
		return w, w.packet()[3]
	}
	for _, c := range [][2]string{{"ecu", "another word"}, {"", ""}, {"ECU", "a long word"}, {"ecu", ""}} {
		if _, code := try(c[0], c[1]); code == 0 {
			t.Errorf("%q got in", c)
		}
	}
	w, code := try("ecu", "a long word")
	if code != 0 || sink.count("a wrong name or password") != 2 { // without name or password, CONNECT itself is refused
		t.Fatalf("code %d, %v", code, sink.refused)
	}
	w.send(w.message(1, 1, fresh, "1"))
	w.wants(puback(1))
	if sink.kept[0].Source != "mqtt/ecu" {
		t.Errorf("%+v", sink.kept[0])
	}
}

// TestManyClients: no more are let in than may, nor are ever more remembered.
func TestManyClients(t *testing.T) {
	sink := new(held)
	b := inside(t, Config{Clients: 3}, sink)
	for i := range 3 {
		dial(t, b, 4, fmt.Sprint("here ", i))
	}
	w := dialRaw(t, b)
	w.send(connect(4, "one more"))
	if ack := w.packet(); ack[3] != 3 { // MQTT 3.1.1, 3.2.2.3: server unavailable
		t.Errorf("% x", ack)
	}
	for _, c := range b.connected() {
		_ = c.Conn.Close()
	}
	eventually(t, "them to be gone", func() bool { return b.count() == 0 })
	for i := range 20 {
		w := dialRaw(t, b)
		w.send(connect(4, fmt.Sprint("once ", i)))
		_, _ = w.conn.Read(make([]byte, 4))
		w.conn.Close()
		eventually(t, "it to be gone", func() bool { return b.count() == 0 })
	}
	if n := b.server.Clients.Len(); n != 3*sessionsEach+1 || sink.count(tooManySessions) != 20-(3*sessionsEach-3) {
		t.Errorf("%d sessions, %v", n, sink.refused)
	}
	back := dial(t, b, 4, "here 1")
	back.send(back.message(1, 1, fresh, "1"))
	back.wants(puback(1))
}

func TestConfig(t *testing.T) {
	for _, c := range []struct {
		c    Config
		want string
	}{
		{Config{Listen: "0.0.0.0:1883"}, "users"},
		{Config{Listen: ":1883"}, "users"},
		{Config{Listen: "gateway:1883"}, "users"},
		{Config{Listen: "127.0.0.1"}, "listen"},
		{Config{Listen: "127.0.0.1:99999"}, "listen"},
		{Config{Root: "a/+"}, "root"},
		{Config{Root: "a/"}, "root"},
		{Config{Clients: -1}, "clients"},
		{Config{Users: map[string]string{"ecu": "short"}}, "users"},
	} {
		if _, err := NewBroker(c.c, nil); err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "expected") {
			t.Errorf("%+v: %v", c.c, err)
		}
	}
	for _, listen := range []string{"", "localhost:0", "[::1]:1883", "127.3.2.1:1883"} {
		if _, err := NewBroker(Config{Listen: listen}, nil); err != nil {
			t.Errorf("%q: %v", listen, err)
		}
	}
	if _, err := NewBroker(Config{Listen: "0.0.0.0:1883", Users: map[string]string{"ecu": "a long word"}}, nil); err != nil {
		t.Error(err)
	}
}

// TestStop acknowledges what is on its way before it closes the connections.
func TestStop(t *testing.T) {
	eachVersion(t, func(t *testing.T, version byte) {
		sink := &held{hold: true}
		b := inside(t, Config{}, sink)
		w := dial(t, b, version, "")
		w.send(w.message(1, 1, fresh, "1"), ping)
		w.wants(pong)
		stopped := make(chan struct{})
		go func() { b.Stop(); close(stopped) }()
		w.silent()
		sink.commit()
		w.wants(puback(1))
		last := w.ended()
		if version == 5 && (len(last) < 3 || last[0] != 0xe0 || last[2] != 0x8b) {
			t.Errorf("% x", last)
		}
		<-stopped
	})
}

// TestStopInTheRush stops brokers while clients come, publish and go: it takes no
// longer than it may.
func TestStopInTheRush(t *testing.T) {
	t.Parallel()
	for range 5 {
		b := inside(t, Config{}, new(held))
		var rush sync.WaitGroup
		stopped := make(chan struct{})
		for i := range 20 {
			rush.Go(func() {
				w := &wire{t: t, five: i%2 == 0}
				hello := connect(byte(4+(1+i)%2), []string{"", fmt.Sprint("client ", i%5)}[i%2])
				for {
					select {
					case <-stopped:
						return
					default:
					}
					conn, err := net.Dial("tcp", b.Addr().String())
					if err != nil {
						continue
					}
					_, _ = conn.Write(append(hello, w.message(1, 1, fresh, "1")...))
					_ = conn.SetReadDeadline(time.Now().Add(time.Duration(i) * time.Millisecond))
					_, _ = conn.Read(make([]byte, 10))
					_ = conn.Close()
				}
			})
		}
		time.Sleep(50 * time.Millisecond)
		begun := time.Now()
		b.Stop()
		close(stopped)
		if took := time.Since(begun); took > stopWithin+2*time.Second {
			t.Errorf("stopping took %v", took)
		}
		rush.Wait()
		if n := b.count(); n != 0 {
			t.Errorf("%d connections are left", n)
		}
	}
}
