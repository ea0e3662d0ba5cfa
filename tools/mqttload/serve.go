package main

import (
	"context"
	"fmt"
	"log/slog"
	"os"
	"os/signal"
	"path/filepath"
	"runtime/pprof"
	"strconv"
	"syscall"

	mochi "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/listeners"
	"github.com/mochi-mqtt/server/v2/packets"

	"gaugewright/internal/feed/mqtt"
	"gaugewright/internal/station"
	"gaugewright/internal/store/sqlite"
	"gaugewright/internal/watch"
)

// serve is one of the servers: which one, its folder, how many tanks, and where a
// profile goes ("-": nowhere). It prints its address and works until SIGTERM.
func serve(args []string) error {
	if len(args) != 4 {
		return fmt.Errorf("serve has %d arguments; expected four", len(args))
	}
	tanks, err := strconv.Atoi(args[2])
	if err != nil {
		return err
	}
	end := make(chan os.Signal, 1)
	signal.Notify(end, syscall.SIGTERM)
	if args[3] != "-" {
		f, err := os.Create(args[3])
		if err != nil {
			return err
		}
		defer f.Close()
		if err := pprof.StartCPUProfile(f); err != nil {
			return err
		}
		defer pprof.StopCPUProfile()
	}
	if args[0] == "bare" {
		return bare(end)
	}
	return ours(end, args[1], tanks)
}

// ours is the broker inside, readings on disk, and each watched.
func ours(end chan os.Signal, folder string, tanks int) error {
	store, err := sqlite.OpenReadings(context.Background(), filepath.Join(folder, "watch.db"), sqlite.Options{})
	if err != nil {
		return err
	}
	defer store.Close()
	instrument, err := watch.Ends(10, 250, 0)
	if err != nil {
		return err
	}
	watches := make(map[string]*watch.Watch, tanks)
	for i := range tanks {
		if watches[tankName(i)], err = watch.New(watch.Config{Tank: tankName(i), Instrument: instrument}); err != nil {
			return err
		}
	}
	levels := 0
	intake := station.NewIntake(station.IntakeConfig{
		Keep:  store,
		Knows: func(tank string) bool { return watches[tank] != nil },
		Show: func(list []watch.Reading) {
			for _, r := range list {
				if watches[r.Tank].Take(r).Shown {
					levels++
				}
			}
		},
		Log: slog.New(slog.NewTextHandler(os.Stderr, nil)),
	})
	defer intake.Close()
	b, err := mqtt.NewBroker(mqtt.Config{Listen: "127.0.0.1:0"}, slog.New(slog.DiscardHandler))
	if err != nil {
		return err
	}
	if err := b.Start(intake); err != nil {
		return err
	}
	fmt.Println(b.Addr())
	<-end
	b.Stop()
	intake.Close()
	s := intake.State()
	kept, err := store.Count(context.Background())
	if err != nil {
		return err
	}
	if kept != int64(s.Kept) {
		return fmt.Errorf("%d readings are on disk; %d were acknowledged", kept, s.Kept)
	}
	fmt.Printf("%d readings on disk, %d levels, %.0f readings in a commit, refused %v\n", kept, levels, float64(s.Kept)/float64(max(s.Commits, 1)), intake.Refusals())
	return nil
}

// bare is the library alone.
func bare(end chan os.Signal) error {
	s := mochi.New(&mochi.Options{Logger: slog.New(slog.DiscardHandler)})
	if err := s.AddHook(new(anyone), nil); err != nil {
		return err
	}
	l := listeners.NewTCP(listeners.Config{ID: "tcp", Address: "127.0.0.1:0"})
	if err := s.AddListener(l); err != nil {
		return err
	}
	if err := s.Serve(); err != nil {
		return err
	}
	fmt.Println(l.Address())
	<-end
	// Its Close may wait for ever while clients leave (clients.go, GetByListener
	// locks twice for reading); the end of the process does as well.
	return nil
}

// anyone lets anyone in, to do anything.
type anyone struct{ mochi.HookBase }

func (*anyone) ID() string { return "anyone" }

func (*anyone) Provides(what byte) bool {
	return what == mochi.OnConnectAuthenticate || what == mochi.OnACLCheck
}

func (*anyone) OnConnectAuthenticate(*mochi.Client, packets.Packet) bool { return true }

func (*anyone) OnACLCheck(*mochi.Client, string, bool) bool { return true }
