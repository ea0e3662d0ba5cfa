package simulated

import (
	"fmt"
	"net"
	"strconv"
	"testing"

	paho "github.com/eclipse/paho.golang/packets"
)

// Readings go out in order without waiting for the acknowledgements of those before,
// as far as the broker lets them; and once they come, all are counted.
func TestWindow(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	const n = 100
	ids, hold := make(chan uint16, 2*n), make(chan struct{})
	var payloads []string
	come := make(chan struct{})
	go func() {
		conn, err := l.Accept()
		if err != nil {
			return
		}
		defer conn.Close()
		for {
			p, err := paho.ReadPacket(conn)
			if err != nil {
				return
			}
			switch c := p.Content.(type) {
			case *paho.Connect:
				most := uint16(512)
				_, _ = (&paho.Connack{Properties: &paho.Properties{ReceiveMaximum: &most}}).WriteTo(conn)
			case *paho.Publish:
				if c.Topic != "gaugewright/fresh/reading" {
					_, _ = (&paho.Puback{PacketID: c.PacketID}).WriteTo(conn)
					continue
				}
				ids <- c.PacketID
				if payloads = append(payloads, string(c.Payload)); len(payloads) == n {
					close(come)
					<-hold
					for range n {
						_, _ = (&paho.Puback{PacketID: <-ids}).WriteTo(conn)
					}
				}
			case *paho.Disconnect:
				return
			}
		}
	}()
	p, _, stop := running(t, Config{Broker: "mqtt://" + l.Addr().String(), Client: "writer"})
	for i := range n {
		p.Put("fresh", []byte(strconv.Itoa(i)))
	}
	<-come
	if c := p.Counts(); c.Acknowledged != 0 || c.Waiting != n {
		t.Errorf("%+v", c)
	}
	for i, got := range payloads {
		if got != fmt.Sprint(i) {
			t.Fatalf("%q came in place %d", got, i)
		}
	}
	close(hold)
	until(t, "all are acknowledged", func() bool { return p.Counts().Acknowledged == n && p.Counts().Waiting == 0 })
	if err := stop(); err != nil {
		t.Error(err)
	}
}
