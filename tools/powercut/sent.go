package main

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"net"
	"strings"
	"time"

	"gaugewright/internal/watch"
)

// tanks are those that readings are sent of.
var tanks = []string{"fresh", "grey", "diesel", "gas"}

// sent is what was sent in a recording: readings by number, in messages.
type sent struct {
	base  time.Time
	each  int // readings in a message
	made  int // readings that were numbered
	acked map[int]bool
	// messages are the readings of each, by run and number of the packet.
	messages []map[int][]int
	left     [][]int // messages that weren't acknowledged
}

// reading gives the reading of a number. No two have the same time; one in ten is
// an hour late.
func (s *sent) reading(n int) watch.Reading {
	at := s.base.Add(time.Duration(n) * 251 * time.Millisecond)
	if n%10 == 7 {
		at = at.Add(-time.Hour)
	}
	return watch.Reading{Tank: tanks[n/s.each%len(tanks)], Time: at, Value: float64(200+n%1700) / 10}
}

// window is how many messages are under way.
const window = 16

// send sends messages over one connection until a time, as many at a time as
// the window has, and first what wasn't acknowledged before. It waits for no
// acknowledgement of the last ones: those are left.
func (s *sent) send(address string, until time.Time) error {
	conn, err := net.Dial("tcp", address)
	if err != nil {
		return err
	}
	defer conn.Close()
	_ = conn.SetDeadline(time.Now().Add(time.Minute))
	hello := append([]byte{0, 4, 'M', 'Q', 'T', 'T', 4, 2, 0, 60}, lengthed("power")...)
	if _, err := conn.Write(append([]byte{0x10, byte(len(hello))}, hello...)); err != nil {
		return err
	}
	var ack [4]byte // CONNACK and PUBACK of MQTT 3.1.1 have four bytes
	if _, err := io.ReadFull(conn, ack[:]); err != nil || ack[0] != 0x20 || ack[3] != 0 {
		return errors.Join(err, fmt.Errorf("it answers % x; expected to be let in", ack))
	}
	packets := map[int][]int{}
	s.messages = append(s.messages, packets)
	waiting, again := 0, s.left
	s.left = nil
	for id := 1; id < 1<<16; id++ {
		for waiting >= window || waiting > 0 && time.Now().After(until) {
			if time.Now().After(until) {
				_ = conn.SetReadDeadline(time.Now().Add(50 * time.Millisecond)) // what comes yet
			}
			if _, err := io.ReadFull(conn, ack[:]); err != nil {
				if time.Now().After(until) {
					break
				}
				return err
			}
			waiting--
			for _, n := range packets[int(ack[2])<<8|int(ack[3])] {
				s.acked[n] = true
			}
		}
		if time.Now().After(until) {
			break
		}
		packets[id] = s.next(&again, id)
		waiting++
		if _, err := conn.Write(s.packet(id, packets[id])); err != nil {
			return err
		}
	}
	for _, m := range packets {
		if !s.acked[m[0]] {
			s.left = append(s.left, m)
		}
	}
	return nil
}

// next gives the next message: one that has to be sent again, one in twenty that
// was sent before all the same, or a new one.
func (s *sent) next(again *[][]int, id int) (m []int) {
	if len(*again) > 0 {
		m, *again = (*again)[0], (*again)[1:]
		return m
	}
	if before := s.messages[len(s.messages)-1][id-19]; id%20 == 0 && before != nil {
		return before
	}
	for range s.each {
		m = append(m, s.made)
		s.made++
	}
	return m
}

// packet is a PUBLISH of MQTT 3.1.1 at quality of service 1.
func (s *sent) packet(id int, m []int) []byte {
	var list []string
	for _, n := range m {
		r := s.reading(n)
		list = append(list, fmt.Sprintf(`{"ohm":%.1f,"time":"%s"}`, r.Value, r.Time.UTC().Format("2006-01-02T15:04:05.000Z07:00")))
	}
	body := binary.BigEndian.AppendUint16(lengthed("gaugewright/"+s.reading(m[0]).Tank+"/reading"), uint16(id))
	body = append(body, "["+strings.Join(list, ",")+"]"...)
	packet := []byte{0x32}
	for n := len(body); ; n >>= 7 {
		if n < 0x80 {
			return append(append(packet, byte(n)), body...)
		}
		packet = append(packet, byte(n)|0x80)
	}
}

func lengthed(s string) []byte {
	return append(binary.BigEndian.AppendUint16(nil, uint16(len(s))), s...)
}
