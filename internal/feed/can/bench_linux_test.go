package can

import (
	"os"
	"syscall"
	"testing"
)

// BenchmarkSocket is BenchmarkLive over a pair of sockets that keep messages apart
// as a CAN socket does, with the system call of each frame and its sender's.
func BenchmarkSocket(b *testing.B) {
	fds, err := syscall.Socketpair(syscall.AF_UNIX, syscall.SOCK_SEQPACKET, 0)
	if err != nil {
		b.Fatal(err)
	}
	var ends [2]*os.File
	for i, fd := range fds {
		if err := syscall.SetNonblock(fd, true); err != nil {
			b.Fatal(err)
		}
		ends[i] = os.NewFile(uintptr(fd), "socket")
	}
	f, err := New("can/boat", config(b, "interface = 'can0'\n"+fresh))
	if err != nil {
		b.Fatal(err)
	}
	frames, to := busy(b), &nothing{}
	b.ResetTimer()
	go func() {
		for n := range b.N {
			if _, err := ends[1].Write(frames[n%len(frames)]); err != nil {
				b.Error(err)
				break
			}
		}
		ends[1].Close()
	}()
	_ = f.(*live).listen(ends[0], to) // it ends with the last frame
	if want := (b.N + 49) / 100; to.taken != want {
		b.Errorf("%d readings of %d frames, expected %d", to.taken, b.N, want)
	}
}
