package main

import (
	"bufio"
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net/url"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"time"

	"gaugewright/internal/app"
	"gaugewright/internal/job"
	"gaugewright/internal/vehicle"
)

type simulateVerb struct {
	Broker       string        `default:"mqtt://127.0.0.1:1883" placeholder:"URL" help:"The MQTT broker (5.0): mqtt://HOST:PORT, or mqtts://HOST:PORT over TLS; a user's name and pass word may stand before the host."`
	User         string        `placeholder:"NAME" help:"The user's name at the broker."`
	PasswordFile string        `placeholder:"FILE" help:"The first line of this file is the pass word at the broker."`
	CA           string        `name:"ca" placeholder:"FILE" help:"Trust a broker whose certificate is signed by one of these (PEM)."`
	Certificate  string        `placeholder:"FILE" help:"A certificate of its own for the broker (PEM)."`
	Key          string        `placeholder:"FILE" help:"The key of the certificate (PEM)."`
	Name         string        `default:"tidewater" placeholder:"NAME" help:"The name of the client; each that runs at a broker needs one of its own."`
	Root         string        `default:"gaugewright" placeholder:"TOPIC" help:"The root of the topics."`
	Queue        int           `default:"50000" placeholder:"N" help:"How many readings wait at most while the broker is away; then the oldest are dropped."`
	Connections  int           `placeholder:"N" help:"Over how many connections the vehicles are spread; one for each thousand unless given."`
	Vehicles     int           `default:"1" placeholder:"N" help:"How many vehicles, up to 10000. More than one have their number in the tank's name: v00001-fresh."`
	Kind         string        `default:"parked" placeholder:"STORY" help:"What the vehicle goes through; --list lists the stories."`
	List         bool          `help:"List the stories, the tanks and the faults."`
	Every        time.Duration `default:"1s" placeholder:"TIME" help:"The time between a tank's readings, in the vehicle's time."`
	Speed        float64       `default:"1" placeholder:"TIMES" help:"How much faster than the clock the vehicle's time runs. It begins far enough back for no reading to be from the future; what has caught up goes on at 1."`
	For          time.Duration `placeholder:"TIME" help:"How long, in the vehicle's time; until it is ended unless given, and 1h with --write."`
	Start        string        `placeholder:"TIME" help:"The time of the first reading, like 2026-06-01T08:00:00Z."`
	Seed         uint64        `default:"1" placeholder:"N" help:"The same seed gives the same vehicle."`
	Fault        []string      `sep:"none" placeholder:"FAULT" help:"A fault from when to when after the start, like \"fresh break 2m..5m\"; may be given several times."`
	Write        string        `placeholder:"FILE" help:"Write a history of one tank into this file instead of publishing; - is standard output."`
	Tank         string        `default:"fresh" placeholder:"NAME" help:"The tank whose history is written."`
	JSON         bool          `name:"json" help:"Write the result as JSON."`
}

// Run simulates vehicles, or writes what one would have given.
func (v *simulateVerb) Run(s streams) error {
	if v.List {
		return v.list(s)
	}
	if v.Every <= 0 {
		return fmt.Errorf("--every %v; expected 10ms to 1h", v.Every)
	}
	var faults []vehicle.Fault
	for _, text := range v.Fault {
		f, err := vehicle.ParseFault(text)
		if err != nil {
			return fmt.Errorf("--fault: %w", err)
		}
		faults = append(faults, f)
	}
	var start time.Time
	if v.Start != "" {
		var err error
		if start, err = time.Parse(time.RFC3339, v.Start); err != nil {
			return fmt.Errorf("--start: %q is no time; expected one like 2026-06-01T08:00:00Z", v.Start)
		}
	}
	if v.Write != "" {
		return v.write(s, start, faults)
	}
	return v.publish(s, start, faults)
}

// publish runs the vehicles until it is interrupted.
func (v *simulateVerb) publish(s streams, start time.Time, faults []vehicle.Fault) error {
	broker, err := v.address()
	if err != nil {
		return err
	}
	secure, err := v.secure()
	if err != nil {
		return err
	}
	b := newBoard(s, v.JSON)
	sim, err := app.NewSimulation(app.Simulate{
		Broker: broker, Name: v.Name, Root: v.Root, TLS: secure, Bound: v.Queue, Connections: v.Connections,
		Vehicles: v.Vehicles, Seed: v.Seed, Kind: v.Kind, Tanks: vehicle.Kitchen(), Every: v.Every, For: v.For,
		Start: start, Speed: v.Speed, Faults: faults, Say: b.say,
	})
	if err != nil {
		return err
	}
	b.begin(v.introduce())
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	ctx, quit := context.WithCancel(ctx)
	defer quit()
	go orders(s, sim, b, quit)
	shown := make(chan struct{})
	go func() {
		defer close(shown)
		b.follow(ctx, sim)
	}()
	err = sim.Run(ctx)
	quit()
	<-shown
	if err != nil {
		return err
	}
	return b.end(sim.Standing())
}

// orders obeys what is typed, until there is nothing more.
func orders(s streams, sim *app.Simulation, b *board, quit func()) {
	lines := bufio.NewScanner(s.in)
	for lines.Scan() {
		if strings.TrimSpace(lines.Text()) == "status" {
			b.answer(strings.Join(standing(sim.Standing()), "\n"))
			continue
		}
		reply, end, err := sim.Order(lines.Text())
		switch {
		case err != nil:
			b.answer("Not done: " + err.Error())
		case reply != "":
			b.answer(reply)
		default:
			b.answer("")
		}
		if end {
			quit()
			return
		}
	}
	if err := lines.Err(); err != nil {
		b.answer("No more orders are taken: " + err.Error() + ". Ctrl-C ends it.")
	}
}

// address gives the broker's address with the user's name and pass word in it.
func (v *simulateVerb) address() (string, error) {
	if v.User == "" && v.PasswordFile == "" {
		return v.Broker, nil
	}
	u, err := url.Parse(v.Broker)
	if err != nil || u.Host == "" {
		return v.Broker, nil // refused with all else that is wrong with it
	}
	name := v.User
	if name == "" && u.User != nil {
		name = u.User.Username()
	}
	if name == "" {
		return "", errors.New("--password-file without a user's name; name one with --user")
	}
	u.User = url.User(name)
	if v.PasswordFile != "" {
		data, err := os.ReadFile(v.PasswordFile)
		if err != nil {
			return "", err
		}
		line, _, _ := strings.Cut(string(data), "\n")
		u.User = url.UserPassword(name, strings.TrimRight(line, "\r"))
	}
	return u.String(), nil
}

// secure gives what is wanted of TLS; nil for the usual.
func (v *simulateVerb) secure() (*tls.Config, error) {
	if v.CA == "" && v.Certificate == "" && v.Key == "" {
		return nil, nil
	}
	if !strings.HasPrefix(v.Broker, "mqtts:") {
		return nil, fmt.Errorf("certificates are given and the broker is %s; expected mqtts://, or none of --ca, --certificate and --key", v.Broker)
	}
	c := &tls.Config{MinVersion: tls.VersionTLS12}
	if v.CA != "" {
		pem, err := os.ReadFile(v.CA)
		if err != nil {
			return nil, err
		}
		c.RootCAs = x509.NewCertPool()
		if !c.RootCAs.AppendCertsFromPEM(pem) {
			return nil, fmt.Errorf("%s: no certificate in it; expected PEM", v.CA)
		}
	}
	if v.Certificate != "" || v.Key != "" {
		pair, err := tls.LoadX509KeyPair(v.Certificate, v.Key)
		if err != nil {
			return nil, fmt.Errorf("--certificate and --key: %w", err)
		}
		c.Certificates = []tls.Certificate{pair}
	}
	return c, nil
}

// introduce says what is simulated.
func (v *simulateVerb) introduce() []string {
	lines := []string{
		"Tidewater Kitchen, an invented food stall on wheels. No real vehicle was measured.",
		fmt.Sprintf("It publishes to %s/TANK/reading; type help for what can be done to it, quit or Ctrl-C to end.", v.Root),
	}
	for _, t := range vehicle.Kitchen() {
		lines = append(lines, "  "+tankWords(t))
	}
	return append(lines, cautionLines(vehicle.Kitchen())...)
}

func tankWords(t vehicle.Tank) string {
	s := t.Sender
	text := fmt.Sprintf("%-6s %s, %.1f L, %g ohm empty, %g ohm full", t.Name, t.Contents, 1000*float64(t.Capacity()), float64(s.Empty), float64(s.Full))
	if t.Permitted > 0 {
		text += fmt.Sprintf(", filled to %.0f %% at most", 100*float64(t.Permitted))
	}
	return text
}

// cautionLines gives the cautions of tanks with gas or fuel.
func cautionLines(tanks []vehicle.Tank) (out []string) {
	for _, t := range tanks {
		var of job.Tank
		switch t.Contents {
		case vehicle.LPG:
			of.Contents = job.LPG
		case vehicle.Fuel:
			of.Contents = job.Diesel
		default:
			continue
		}
		of.PermittedFillPct = 100 * float64(t.Permitted)
		out = append(out, "About a real tank like "+t.Name+":")
		for _, c := range of.Cautions() {
			out = append(out, "  - "+c)
		}
	}
	return out
}
