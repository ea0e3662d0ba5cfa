package readings

import (
	"bufio"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/quantity"
)

// childFile names the file to the copy of the test binary that is to be killed.
const (
	childFile  = "READINGS_TEST_CHILD_FILE"
	childStart = "READINGS_TEST_CHILD_START"
	// The ohms of a reading are its number, and 20 rounds stay below MaxOhm.
	perRound = 4000
)

func TestMain(m *testing.M) {
	if path := os.Getenv(childFile); path != "" {
		fmt.Fprintln(os.Stderr, child(path))
		os.Exit(3)
	}
	os.Exit(m.Run())
}

// child adds readings with ever new ohms and strikes every third one, and says
// so each time the call has returned, until it is killed.
func child(path string) error {
	a, _, err := OpenAppender(path, curve.Dial)
	if err != nil {
		return err
	}
	start, err := strconv.Atoi(os.Getenv(childStart))
	if err != nil {
		return err
	}
	fmt.Println("open")
	for n := start; n < start+perRound; n++ {
		note := strings.Repeat("long, ", n%7)
		if err := a.Add(curve.Reading{Mark: 0.5, Ohm: quantity.Ohm(n), Note: note}); err != nil {
			return err
		}
		fmt.Println("added", n)
		if n%3 == 0 {
			if _, err := a.Strike("every third"); err != nil {
				return err
			}
			fmt.Println("struck", n)
		}
	}
	return fmt.Errorf("nobody killed the child")
}

// A program that is killed at any moment, SIGKILL, leaves every reading it was
// told is stored: as a row, or as a comment once it was struck. What only a
// power cut can show, whether fsync did its work, is not tested here.
func TestKilledAppenderLosesNothing(t *testing.T) {
	path := filepath.Join(t.TempDir(), "tank.csv")
	random := rand.New(rand.NewPCG(1, 2)) // the moments; the machine adds its own
	added, struck := map[int]bool{}, map[int]bool{}
	const rounds = 20
	for round := range rounds {
		run(t, path, round*perRound+1, time.Duration(random.Int64N(int64(40*time.Millisecond))), added, struck)
		a, s, err := OpenAppender(path, curve.Dial)
		if err != nil {
			t.Fatalf("round %d: %v\n%s", round, err, contentOf(t, path))
		}
		if a.Mended() != "" {
			t.Log(a.Mended())
		}
		if err := a.Close(); err != nil {
			t.Error(err)
		}
		rows := map[int]bool{}
		for _, r := range s.Readings {
			rows[int(r.Ohm)] = true
		}
		content := contentOf(t, path)
		for n := range added {
			comment := strings.Contains(content, fmt.Sprintf("\n# struck: 50,%d,", n))
			switch {
			case rows[n] && comment:
				t.Errorf("round %d: reading %d is there twice", round, n)
			case !rows[n] && !comment:
				t.Errorf("round %d: reading %d is lost", round, n)
			case !rows[n] && n%3 != 0:
				t.Errorf("round %d: reading %d was struck by nobody", round, n)
			case rows[n] && struck[n]:
				t.Errorf("round %d: reading %d is back", round, n)
			}
		}
	}
	if len(added) < rounds || len(struck) == 0 {
		t.Fatalf("only %d readings and %d strikes in %d rounds: the test shows nothing", len(added), len(struck), rounds)
	}
	t.Logf("%d readings, %d struck, %d kills", len(added), len(struck), rounds)
}

// run starts a child, kills it a while after it has opened the file, and notes
// what it said.
func run(t *testing.T, path string, start int, wait time.Duration, added, struck map[int]bool) {
	t.Helper()
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.CommandContext(t.Context(), exe, "-test.run=^$")
	cmd.Env = append(os.Environ(), childFile+"="+path, childStart+"="+strconv.Itoa(start))
	var complaint strings.Builder
	cmd.Stderr = &complaint
	said, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewReader(said)
	if line, err := lines.ReadString('\n'); err != nil || line != "open\n" {
		cmd.Process.Kill()
		cmd.Wait()
		t.Fatalf("the child said %q, %v; %s", line, err, complaint.String())
	}
	kill := time.AfterFunc(wait, func() { cmd.Process.Kill() })
	defer kill.Stop()
	for {
		line, err := lines.ReadString('\n')
		if err != nil { // a line that was cut off says nothing
			if err != io.EOF {
				t.Errorf("the pipe: %v", err)
			}
			break
		}
		var verb string
		var n int
		if _, err := fmt.Sscan(line, &verb, &n); err != nil {
			t.Fatalf("the child said %q", line)
		}
		map[string]map[int]bool{"added": added, "struck": struck}[verb][n] = true
	}
	if err := cmd.Wait(); err == nil || err.Error() != "signal: killed" {
		t.Fatalf("the child was not killed: %v; %s", err, complaint.String())
	}
}
