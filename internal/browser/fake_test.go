package browser

import (
	"fmt"
	"runtime"
	"strings"
	"testing"
)

// fake stands in for a test, to see how one would end. Cleanups and temporary
// folders are those of the real test.
type fake struct {
	testing.TB
	ended    string
	messages []string
}

func (f *fake) Helper() {}
func (f *fake) Errorf(format string, args ...any) {
	if f.ended == "" {
		f.ended = "error"
	}
	f.messages = append(f.messages, fmt.Sprintf(format, args...))
}
func (f *fake) Fatalf(format string, args ...any) { f.end("fatal", fmt.Sprintf(format, args...)) }
func (f *fake) Fatal(args ...any)                 { f.end("fatal", fmt.Sprint(args...)) }
func (f *fake) Skipf(format string, args ...any)  { f.end("skip", fmt.Sprintf(format, args...)) }
func (f *fake) end(how, message string) {
	f.ended = how
	f.messages = append(f.messages, message)
	runtime.Goexit()
}

// expect fails the test unless f ended so and said that.
func (f *fake) expect(t *testing.T, ended, say string) {
	t.Helper()
	if said := strings.Join(f.messages, "\n"); f.ended != ended || !strings.Contains(said, say) {
		t.Errorf("ended %q with %q; expected %q with %q", f.ended, said, ended, say)
	}
}

// watch runs f as a test function would be run and tells how it ended.
func watch(t *testing.T, f func(testing.TB)) *fake {
	t.Helper()
	stand := &fake{TB: t}
	done := make(chan struct{})
	go func() {
		defer close(done)
		f(stand)
	}()
	<-done
	return stand
}
