package xdr

import (
	"bytes"
	"fmt"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/feed/feedtest"
	"gaugewright/internal/peer"
)

// pynmea2 reads the sentences that are written here, with the checksum asked for,
// and those that it builds are read here.
func TestPynmea2(t *testing.T) {
	groups := [][]Transducer{
		{{"E", "75.0", "P", "FreshWater#0"}},
		{{"V", "0.1125", "M", "FreshWater#0"}, {"A", "-2.5", "D", "PITCH"}},
		{{"G", "118.4", "", "FUEL"}, {"E", "", "P", "Grey"}, {"U", "2.10", "V", "Spare"}},
	}
	var ours []string
	for _, list := range groups {
		line, err := Encode("II", list...)
		if err != nil {
			t.Fatal(err)
		}
		ours = append(ours, string(line))
	}
	var got struct {
		Read  [][][]string
		Built []string
		Times []string
	}
	times := []string{
		summedUp("GPZDA,201530.25,04,07,2026,00,00"), summedUp("GPRMC,123519.50,A,4807.038,N,01131.000,E,022.4,084.4,230326,003.1,W"),
		summedUp("GNRMC,235959,A,,,,,,,311229,,,A"),
	}
	peer.Python(t, []string{"pynmea2"}, `
import json, sys
import datetime, pynmea2
given = json.load(sys.stdin)
read, built, times = [], [], []
for line in given["Ours"]:
    m = pynmea2.parse(line, check=True)
    read.append([[x.type, x.value, x.units, x.id] for x in (m.get_transducer(i) for i in range(m.num_transducers))])
for list in given["Groups"]:
    built.append(str(pynmea2.XDR("II", "XDR", tuple(f for x in list for f in x))))
for line in given["Times"]:
    m = pynmea2.parse(line, check=True)
    date = m.datestamp if m.sentence_type == "RMC" else datetime.date(m.year, m.month, m.day)
    at = datetime.datetime.combine(date, m.timestamp.replace(tzinfo=None))
    times.append(at.isoformat(timespec="microseconds"))
print(json.dumps({"Read": read, "Built": built, "Times": times}))
`, map[string]any{"Ours": ours, "Times": times, "Groups": fields(groups)}, &got)
	if len(got.Read) != len(ours) || len(got.Built) != len(ours) || len(got.Times) != len(times) {
		t.Fatalf("%+v", got)
	}
	want := fields(groups)
	for i := range ours {
		if !slices.EqualFunc(got.Read[i], want[i], slices.Equal) {
			t.Errorf("pynmea2 reads %q as %v, expected %v", ours[i], got.Read[i], want[i])
		}
		s, err := Parse([]byte(got.Built[i]))
		list, err2 := Transducers(s)
		if err != nil || err2 != nil || !s.Checked || !slices.Equal(list, groups[i]) || got.Built[i]+"\r\n" != ours[i] {
			t.Errorf("pynmea2 builds %q: %+v, %v, %v", got.Built[i], list, err, err2)
		}
	}
	for i, line := range times {
		s, err := Parse([]byte(line))
		if at := TimeOf(s).Format("2006-01-02T15:04:05.000000"); err != nil || at != got.Times[i] {
			t.Errorf("%s: %s, %v; pynmea2 says %s", line, at, err, got.Times[i])
		}
	}
}

func fields(groups [][]Transducer) (all [][][]string) {
	for _, list := range groups {
		var rows [][]string
		for _, x := range list {
			rows = append(rows, []string{x.Type, x.Value, x.Unit, x.Name})
		}
		all = append(all, rows)
	}
	return all
}

// carried are the sentences that socat carries, and what comes of them.
var carried = []string{
	"half a line that is no sentence,75.0,P,Fr\r\n",
	"$IIXDR,E,75.0,P,FreshWater#0*4B\r\n", "\x00\xfe\x80noise\r\n", "$IIXDR,E,75.1,P,FreshWater#0*4B\r\n",
	strings.Repeat("U", 3000) + "\r\n", "$IIXDR,V,0.1125,M,FreshWater#0*40\r\n", summedUp("IIXDR,G,118.4,,FUEL,E,30,P,Grey") + "\r\n",
}

const carriedTo = "fresh 75 %, diesel 118.4 ohm, grey 30 %"

// socat starts socat, which ends with the test.
func socat(t *testing.T, in []byte, args ...string) *exec.Cmd {
	t.Helper()
	cmd := exec.Command(peer.Tool(t, "socat", "socat"), args...)
	cmd.Stdin = bytes.NewReader(in)
	var said bytes.Buffer
	cmd.Stderr = &said
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		if t.Failed() {
			t.Logf("socat: %s", said.String())
		}
	})
	return cmd
}

// running runs a receiver until the test ends.
func running(t *testing.T, text string) *feedtest.Tape {
	t.Helper()
	s := newTape()
	s.Run(t, receiving(t, text+boat))
	return s
}

// arrived waits for all that was carried so many times, and expects it whole.
func arrived(t *testing.T, s *feedtest.Tape, times int) {
	t.Helper()
	s.Wait(t, "all there", func() bool { return len(s.Readings) >= 3*times })
	if got := s.Text(); got != strings.Join(slices.Repeat([]string{carriedTo}, times), ", ") {
		t.Errorf("readings %s", got)
	}
	s.Counted(t, map[string]int{"line without a sentence": times, "wrong checksum": times, "line too long": times,
		"transducer that no tank is configured for: V FreshWater#0": times})
}

func TestTCPBySocat(t *testing.T) {
	t.Parallel()
	port := peer.FreePort(t)
	s := running(t, fmt.Sprintf("tcp = '127.0.0.1:%d'\n", port))
	s.Wait(t, "refused", func() bool { return len(s.Told) > 0 })
	if told := s.Heard(); !strings.Contains(told[0], "look whether its server is switched on") {
		t.Errorf("told %q", told)
	}
	// Twice: the second is after a lost connection.
	for times := range 2 {
		cmd := socat(t, []byte(strings.Join(carried, "")), "-u", "STDIN", "TCP-LISTEN:"+strconv.Itoa(port)+",bind=127.0.0.1,reuseaddr")
		if err := cmd.Wait(); err != nil {
			t.Fatal(err)
		}
		arrived(t, s, times+1)
	}
	s.Wait(t, "told of the end", func() bool { return strings.Contains(s.Told[len(s.Told)-1], "the other side has closed") })
}

func TestUDPBySocat(t *testing.T) {
	t.Parallel()
	for _, to := range []string{"127.0.0.1", "239.255.77.1"} {
		t.Run(to, func(t *testing.T) {
			port := peer.FreePort(t)
			where := fmt.Sprintf("%s:%d", to, port)
			s := running(t, fmt.Sprintf("udp = '%s'\n", where))
			s.Wait(t, "up", func() bool { return len(s.Told) > 0 })
			if told := s.Heard(); told[0] != "up "+where {
				peer.Missing(t, "no way to %s on this machine (%v); give it a network interface with multicast", to, told)
			}
			// A datagram for each line but the last two, which are one without an end;
			// each is sent by its own socat, which is the way to keep them apart.
			n := len(carried)
			lines := append(slices.Clone(carried[1:n-2]), strings.TrimSpace(carried[n-2]+carried[n-1]))
			for _, text := range lines {
				if err := socat(t, []byte(text), "-u", "-b", "9000", "STDIN", "UDP4-DATAGRAM:"+where).Wait(); err != nil {
					peer.Missing(t, "socat can't send to %s (%v); give this machine a route for multicast", to, err)
				}
			}
			arrived(t, s, 1)
		})
	}
}

func TestSerialBySocat(t *testing.T) {
	t.Parallel()
	port := filepath.Join(t.TempDir(), "port")
	s := running(t, fmt.Sprintf("serial = %q\nspeed = 38400\n", port))
	s.Wait(t, "refused", func() bool { return len(s.Told) > 0 })
	if told := s.Heard(); !strings.Contains(told[0], "plug its cable in") {
		t.Errorf("told %q", told)
	}
	plug := func() (*exec.Cmd, func(string)) {
		cmd := exec.Command(peer.Tool(t, "socat", "socat"), "PTY,link="+port+",rawer", "STDIO")
		in, err := cmd.StdinPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() {
			_ = cmd.Process.Kill()
			_ = cmd.Wait()
		})
		return cmd, func(text string) {
			if _, err := in.Write([]byte(text)); err != nil {
				t.Error(err)
			}
		}
	}
	cmd, send := plug()
	s.Wait(t, "up", func() bool { return s.Told[len(s.Told)-1] == "up "+port })
	for _, text := range carried {
		send(text[:len(text)/2])
		time.Sleep(3 * time.Millisecond)
		send(text[len(text)/2:])
	}
	arrived(t, s, 1)
	// The cable is pulled out in the middle of a sentence, and put in again.
	send("$IIXDR,E,75.0,P,Fre")
	time.Sleep(20 * time.Millisecond)
	_ = cmd.Process.Kill()
	_ = cmd.Wait()
	s.Wait(t, "down", func() bool { return strings.HasPrefix(s.Told[len(s.Told)-1], "down") })
	if told := s.Heard(); !strings.HasPrefix(told[len(told)-1], "down "+port+": ") || !strings.HasSuffix(told[len(told)-1], "look at its cable") {
		t.Errorf("told %q", told)
	}
	_, send = plug()
	s.Wait(t, "up again", func() bool { return s.Told[len(s.Told)-1] == "up "+port })
	for _, text := range carried {
		send(text)
	}
	arrived(t, s, 2)
}
