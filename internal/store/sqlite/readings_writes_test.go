package sqlite_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/peer"
	"gaugewright/internal/store/sqlite"
	"gaugewright/internal/watch"
)

// served is what some tanks send in so many seconds: one reading a second each, some
// milliseconds late or early, of a level that falls slowly, with noise of 0.3 Ω.
type served struct {
	random *rand.Rand
	at     time.Time
	tanks  int
	list   []watch.Reading
}

func (v *served) next(seconds int) []watch.Reading {
	v.list = v.list[:0]
	for range seconds {
		v.at = v.at.Add(time.Second)
		for tank := range v.tanks {
			at := v.at.Add(time.Duration(v.random.NormFloat64()*10) * time.Millisecond)
			ohm := 120 - 20*math.Sin(float64(v.at.Unix())/2e4+float64(tank)) + 0.3*v.random.NormFloat64()
			v.list = append(v.list, watch.Reading{Tank: "tank " + strconv.Itoa(tank), Source: "mqtt", Time: at, Arrived: at.Add(40 * time.Millisecond), Value: math.Round(ohm*100) / 100})
		}
	}
	return v.list
}

// writer keeps so many hours of four tanks, as a watch does that commits every ten
// seconds and seals every ten minutes, and prints how many bytes the kernel wrote for
// it, and how many there are then.
func writer(path string, hours int) error {
	ctx := context.Background()
	v := served{random: rand.New(rand.NewPCG(1, 2)), at: noon, tanks: 4}
	s, err := sqlite.OpenReadings(ctx, path, sqlite.Options{Now: func() time.Time { return v.at }})
	if err != nil {
		return err
	}
	begun, err := writtenBytes()
	if err != nil {
		return err
	}
	for n := range hours * 360 {
		if err := s.Keep(v.next(10)); err != nil {
			return err
		}
		if n%60 == 59 {
			if err := s.Seal(ctx); err != nil {
				return err
			}
		}
	}
	ended, err := writtenBytes()
	if err != nil {
		return err
	}
	if err := s.Close(); err != nil {
		return err
	}
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	fmt.Println(ended-begun, info.Size())
	return nil
}

// writtenBytes gives what this process has caused to be written to disks: write_bytes
// in proc_pid_io(5).
func writtenBytes() (int64, error) {
	text, err := os.ReadFile("/proc/self/io")
	if err != nil {
		return 0, err
	}
	for line := range strings.Lines(string(text)) {
		if n, ok := strings.CutPrefix(line, "write_bytes: "); ok {
			return strconv.ParseInt(strings.TrimSpace(n), 10, 64)
		}
	}
	return 0, fmt.Errorf("no write_bytes in /proc/self/io")
}

// writtenHours are enough for two chunks of each tank and their roll-ups.
const writtenHours = 3

// TestReadingsWrites has the kernel say what a watch of four tanks writes to the disk,
// in some hours at full speed: less than 100 MB a day.
func TestReadingsWrites(t *testing.T) {
	t.Parallel()
	if _, err := writtenBytes(); err != nil {
		t.Skipf("this system doesn't count what a process writes: %v", err)
	}
	const hours = writtenHours
	cmd := child(t, "writer", filepath.Join(peer.Disk(t), "watch.db"))
	out, err := cmd.Output()
	if err == nil {
		t.Fatal("the child ended well; it is to end with 1")
	}
	var written, size int64
	if _, err := fmt.Sscan(string(out), &written, &size); err != nil {
		t.Fatalf("the child said %q: %v", out, err)
	}
	day := written * 24 / hours
	t.Logf("%d bytes written in %d hours: %.1f MB a day, %d a commit; the file has %d, %.2f a reading", written, hours, float64(day)/1e6, written/(hours*360), size, float64(size)/(hours*3600*4))
	if written == 0 {
		t.Skip("the temporary folder isn't on a disk")
	}
	if day > 100e6 {
		t.Errorf("%d bytes a day", day)
	}
}
