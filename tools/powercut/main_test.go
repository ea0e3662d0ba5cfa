package main

import (
	"bytes"
	"flag"
	"os"
	"os/exec"
	"runtime"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/peer"
)

var (
	moments = flag.Int("moments", 60, "moments of the recording that are tried")
	kept    = flag.String("kept", "", "folder in which the recording is kept, to be looked at")
)

// The power goes at many moments of a recorded run of the program as it is
// shipped: none of what it had acknowledged is lost or doubled. As a trial of the
// trials, the same recording as that of a disk on which an fsync does nothing has
// to be found at fault.
func TestPowerCuts(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("strace traces on Linux alone")
	}
	strace := peer.Tool(t, "strace", "strace")
	if out, err := exec.Command(strace, "-qq", "-o", os.DevNull, "true").CombinedOutput(); err != nil {
		t.Skipf("strace may not trace here: %v, %s", err, out)
	}
	peer.Tool(t, "sqlite3", "sqlite3")
	program, err := peer.Program(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	folder := *kept
	if folder == "" {
		folder = t.TempDir()
	}
	r := recording{program: program, each: 500 * time.Millisecond, commitEvery: "5ms", readings: 4, runs: 4}
	if err := r.record(folder); err != nil {
		t.Fatal(err)
	}
	t.Log(&r)
	inMemory := "/dev/shm"
	if _, err := os.Stat(inMemory); err != nil {
		inMemory = t.TempDir()
	}
	try := trial{folder: inMemory, moments: *moments, some: 2, other: 25, seed: 1}
	f, err := try.all(&r)
	if err != nil {
		t.Fatal(err)
	}
	t.Log(f)
	if f.faulty > 0 || f.trials < 4*min(*moments, len(r.events)/2) || f.none == 0 || f.all == 0 || f.some == 0 || f.other == 0 {
		t.Errorf("%d of %d trials are at fault", f.faulty, f.trials)
	}
	unsynced := r
	unsynced.events = nil
	for _, e := range r.events {
		if e.kind != synced || !strings.HasSuffix(e.path, "-wal") {
			unsynced.events = append(unsynced.events, e)
		}
	}
	try.moments, try.some, try.other = 12, 1, 0
	f, err = try.all(&unsynced)
	if err != nil || f.faulty < 6 {
		t.Fatalf("without the syncs of the -wal file %d of %d trials are at fault, %v; expected many", f.faulty, f.trials, err)
	}
	t.Logf("without the syncs of the -wal file %d of %d trials are at fault, as they have to be", f.faulty, f.trials)
}

// A few calls as strace writes them, whole and in two parts.
func TestRead(t *testing.T) {
	hexed := func(s string) string {
		var b strings.Builder
		for _, c := range []byte(s) {
			b.WriteString(`\x`)
			b.WriteByte("0123456789abcdef"[c>>4])
			b.WriteByte("0123456789abcdef"[c&15])
		}
		return b.String()
	}
	text := strings.NewReplacer("DB", hexed("/d/watch.db"), "DIR", hexed("/d"), "ELSE", hexed("/e/x"), "NEW", hexed("/d/new"), "BYTES", hexed("ab,c)"), "ACK", hexed("\x40\x02\x00\x07")).Replace(
		`10 open("DB", O_RDWR|O_CREAT|O_CLOEXEC, 0600) = 7<DB>
10 openat(AT_FDCWD<ELSE>, "ELSE", O_RDWR|O_CREAT, 0600) = 9<ELSE>
10 write(9<ELSE>, "BYTES", 5) = 5
10 pwrite64(7<DB>, "BYTES", 5, 4096 <unfinished ...>
11 write(8<TCP:[127.0.0.1:1883->127.0.0.1:40000]>, "ACK", 4) = 4
10 <... pwrite64 resumed>) = 5
10 write(7<DB>, "BYTES", 5)              = 5
10 fsync(7<DB> <unfinished ...>
11 fsync(6<DIR>) = 0
10 <... fsync resumed>) = 0
11 --- SIGURG {si_signo=SIGURG} ---
11 ftruncate(7<DB>, 3) = 0
11 rename("DB", "NEW") = 0
11 unlink("NEW") = 0
11 unlink("DB") = -1 ENOENT (No such file or directory)
11 +++ exited with 0 +++
`)
	got, err := read(strings.NewReader(text), "/d", 0)
	if err != nil {
		t.Fatal(err)
	}
	want := []event{
		{kind: opened, path: "/d/watch.db"},
		{kind: written, path: "/d/watch.db", data: []byte("ab,c)"), offset: 4096},
		{kind: told, path: "8<TCP:[127.0.0.1:1883->127.0.0.1:40000]>", data: []byte("\x40\x02\x00\x07")},
		{kind: written, path: "/d/watch.db", data: []byte("ab,c)")},
		{kind: syncing, path: "/d/watch.db", mark: 1},
		{kind: syncing, path: "/d", mark: 2},
		{kind: synced, path: "/d", mark: 2},
		{kind: synced, path: "/d/watch.db", mark: 1},
		{kind: cut, path: "/d/watch.db", offset: 3},
		{kind: renamed, path: "/d/watch.db", to: "/d/new"},
		{kind: unlinked, path: "/d/new"},
	}
	if len(got) != len(want) {
		t.Fatalf("got %d events, want %d: %+v", len(got), len(want), got)
	}
	for i, e := range got {
		w := want[i]
		if e.kind != w.kind || e.path != w.path || e.to != w.to || !bytes.Equal(e.data, w.data) || e.offset != w.offset || e.mark != w.mark {
			t.Errorf("event %d is %+v, want %+v", i, e, w)
		}
	}
	for _, bad := range []string{
		strings.Replace(text, "11 unlink", "11 fallocate(7<"+hexed("/d/watch.db")+">, 0, 0, 10) = 0\n11 unlink", 1),
		strings.Replace(text, "pwrite64 resumed>) = 5", "pwrite64 resumed>) = 4", 1),
	} {
		if _, err := read(strings.NewReader(bad), "/d", 0); err == nil {
			t.Error("a call that isn't reckoned with is passed over")
		}
	}
}

func TestAcknowledged(t *testing.T) {
	// A CONNACK, two PUBACKs, one of them refused by a reason of MQTT 5, and half a packet.
	numbers, rest, err := acknowledged([]byte{0x20, 2, 0, 0, 0x40, 2, 1, 2, 0x40, 4, 0, 9, 0x97, 0, 0x40, 2, 0, 5, 0x40, 2, 0})
	if err != nil || len(numbers) != 2 || numbers[0] != 258 || numbers[1] != 5 || len(rest) != 3 {
		t.Errorf("%v, % x, %v", numbers, rest, err)
	}
}
