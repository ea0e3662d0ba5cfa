package peer

import (
	"fmt"
	"net"
	"strings"
	"testing"
)

func (f *fake) Cleanup(func()) {}

const echoServer = `
import socket, sys
server = socket.socket()
server.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
server.bind(("127.0.0.1", int(sys.argv[1])))
server.listen()
print("ready", flush=True)
while True:
    server.accept()
`

// A program is ready when it says so, or takes connections, and is gone when it
// is stopped.
func TestBeside(t *testing.T) {
	python, port := Interpreter(t), FreePort(t)
	for _, ready := range []Ready{Says("ready"), Listens(port)} {
		stop := Beside(t, ready, python, "-c", echoServer, fmt.Sprint(port))
		if !Listens(port)("") {
			t.Error("it isn't there")
		}
		stop()
		if Listens(port)("") {
			t.Error("it is still there")
		}
		stop() // once more does no harm
	}
}

func TestBesideEnds(t *testing.T) {
	python := Interpreter(t)
	got := watch(t, func(t testing.TB) {
		Beside(t, Says("ready"), python, "-c", "import sys; print('no'); sys.exit('the tank is empty')")
	})
	if got.ended != "fatal" || !strings.Contains(got.message, "ended before it was ready") || !strings.Contains(got.message, "the tank is empty") {
		t.Errorf("ended %q with %q", got.ended, got.message)
	}
}

// Many ports are asked for at once, and each can be listened to.
func TestFreePort(t *testing.T) {
	for range 200 {
		l, err := net.Listen("tcp", fmt.Sprint("127.0.0.1:", FreePort(t)))
		if err != nil {
			t.Fatal(err)
		}
		defer l.Close()
		if free(l.Addr().(*net.TCPAddr).Port) {
			t.Fatal("a port in use counts as free")
		}
	}
}
