package station

import (
	"context"
	"fmt"
	"log/slog"
	"strings"
	"sync"
	"time"

	"github.com/coreos/go-systemd/v22/daemon"
)

// stands is for how long a loop may stand still before it counts as stuck: longer
// than a slow disk takes over a commit, or a locked file is waited for.
const stands = time.Minute

// Turning says whether the loops on which all depends go round: the one that keeps
// readings, and the one that publishes levels. The error says which doesn't.
func (s *Station) Turning() error {
	if d := s.intake.turned(); d > stands {
		return fmt.Errorf("the keeping of readings has stood still for %s", d.Round(time.Second))
	}
	if d := time.Since(s.begun) - time.Duration(s.turned.Load()); d > stands {
		return fmt.Errorf("the publishing of levels has stood still for %s", d.Round(time.Second))
	}
	return nil
}

// Status says in a line how the watch stands, for whoever looks after it.
func (s *Station) Status() string {
	good := 0
	for _, l := range s.Levels(s.o.Now()) {
		if l.Shown {
			good++
		}
	}
	text := fmt.Sprintf("%d of %d tanks with a level, %d readings kept", good, len(s.names), s.intake.State().Kept)
	if f := s.Standing().Failing; f != "" {
		text += "; readings can't be kept: " + f
	}
	return strings.ReplaceAll(text, "\n", " ")
}

// Ended is closed where the watch has ended by itself, which it is not to do; Err
// then says why.
func (s *Station) Ended() <-chan struct{} { return s.ended }

// Err is for after Ended.
func (s *Station) Err() error {
	select {
	case <-s.ended:
		return s.why
	default:
		return nil
	}
}

// ends has the program end, so that it is started again.
func (s *Station) ends(err error) {
	s.ending.Do(func() {
		s.why = err
		close(s.ended)
	})
}

// Watched is what a service manager is told of.
type Watched struct {
	Turning func() error  // nil: it always does
	Status  func() string // nil: nothing to say
	Log     *slog.Logger
}

// Tell tells the service manager (systemd's protocol, sd_notify(3)) that the program
// is ready, now and then how it stands, and that it is alive for as long as it is, and
// at the end that it stops. Where no service manager asks, it does nothing.
func (w Watched) Tell(ctx context.Context) (stop func()) {
	if w.Log == nil {
		w.Log = slog.New(slog.DiscardHandler)
	}
	w.say(daemon.SdNotifyReady + w.status())
	every := 30 * time.Second
	// An error is that the variables are no numbers.
	if d, err := daemon.SdWatchdogEnabled(false); err == nil && d > 0 {
		every = min(every, d/3)
	}
	ctx, cancel := context.WithCancel(ctx)
	var done sync.WaitGroup
	done.Go(func() { w.tells(ctx, every) })
	return sync.OnceFunc(func() {
		cancel()
		done.Wait()
		w.say(daemon.SdNotifyStopping)
	})
}

func (w Watched) tells(ctx context.Context, every time.Duration) {
	ticks := time.NewTicker(every)
	defer ticks.Stop()
	stuck := false
	for {
		select {
		case <-ctx.Done():
			return
		case <-ticks.C:
		}
		var err error
		if w.Turning != nil {
			err = w.Turning()
		}
		if err != nil {
			if !stuck {
				w.Log.Error("the program is stuck, and the service manager isn't told that it is alive", "why", err)
			}
			stuck = true
			continue
		}
		stuck = false
		w.say(daemon.SdNotifyWatchdog + w.status())
	}
}

func (w Watched) status() string {
	if w.Status == nil {
		return ""
	}
	return "\nSTATUS=" + w.Status()
}

func (w Watched) say(state string) {
	if _, err := daemon.SdNotify(false, state); err != nil {
		w.Log.Warn("the service manager can't be told", "what", state, "error", err)
	}
}
