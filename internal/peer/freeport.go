package peer

import (
	"fmt"
	"math/rand/v2"
	"net"
	"sync"
	"testing"
	"time"
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

// FreePort is a port of 127.0.0.1 that nobody listens to.
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

// free asks by a connection. A listener made for the question would be handed on
// to any program that another test starts at that moment, which holds it for a
// while after it is closed here.
func free(port int) bool {
	c, err := net.DialTimeout("tcp", fmt.Sprint("127.0.0.1:", port), time.Second)
	if err == nil {
		c.Close()
	}
	return err != nil
}
