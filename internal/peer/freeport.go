package peer

import (
	"fmt"
	"math/rand/v2"
	"net"
	"sync"
	"testing"
)

// Ports that [FreePort] gives. The system takes those of connections that go
// out, and of listeners that leave the choice to it, from 32768 on (Linux) or
// 49152 (others), so nobody gets one of these by chance before it is used.
const (
	lowestPort  = 20000
	highestPort = 32000
)

// portsGiven are never given twice by one program.
var portsGiven sync.Map

// FreePort is a port of 127.0.0.1, for TCP and UDP, that nobody uses now.
func FreePort(t testing.TB) int {
	t.Helper()
	for range 1000 {
		port := lowestPort + rand.IntN(highestPort-lowestPort)
		if _, given := portsGiven.LoadOrStore(port, true); !given && free(port) {
			return port
		}
	}
	t.Fatalf("no free port of 127.0.0.1 found between %d and %d", lowestPort, highestPort)
	return 0
}

func free(port int) bool {
	address := fmt.Sprint("127.0.0.1:", port)
	l, err := net.Listen("tcp", address)
	if err != nil {
		return false
	}
	defer l.Close()
	c, err := net.ListenPacket("udp", address)
	if err != nil {
		return false
	}
	c.Close()
	return true
}
