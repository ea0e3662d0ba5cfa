package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"time"

	"golang.org/x/term"

	"gaugewright/internal/app"
	"gaugewright/internal/station"
)

type serveVerb struct {
	Data            string        `placeholder:"FILE" help:"The workshop's data file, made where there is none; in your user's data folder unless given."`
	Listen          string        `default:"127.0.0.1:8765" placeholder:"HOST:PORT" help:"Where the pages are. Unless given, this machine alone reaches them; :8765 lets the workshop's network in, and then a pass phrase is asked for."`
	AskAlways       bool          `help:"Ask for the pass phrase even where this machine alone reaches the pages, as behind a proxy."`
	NewPassPhrase   bool          `help:"Set another pass phrase."`
	PassPhraseFile  string        `placeholder:"FILE" help:"Take the pass phrase to set from the first line of this file instead of asking for it."`
	NewOwnerPhrase  bool          `help:"Set a pass phrase for the owner, who then may look at what is left in the tanks and at nothing else."`
	OwnerPhraseFile string        `placeholder:"FILE" help:"Take the owner's pass phrase from the first line of this file instead of asking for it."`
	SelfSigned      bool          `help:"Serve over TLS with a certificate that is made here, beside the data; its fingerprint is printed, to be compared with what a browser shows."`
	Certificate     string        `placeholder:"FILE" help:"Serve over TLS with this certificate (PEM)."`
	Key             string        `placeholder:"FILE" help:"The key of the certificate (PEM)."`
	Watch           string        `placeholder:"WATCH.toml" help:"Watch tanks too, as the verb watch does, and show their levels on a page (docs/watching.md)."`
	CommitEvery     time.Duration `placeholder:"TIME" help:"With --watch: the least time between two commits of readings to the disk; 10s unless the configuration says otherwise."`
	Languages       string        `placeholder:"FOLDER" help:"A folder with catalogues of more languages (docs/languages.md)."`
	Verbose         bool          `help:"Log all that goes on, and not only what is amiss."`
	Host            []string      `placeholder:"NAME" sep:"none" help:"A name by which browsers reach this machine, besides its own and its addresses; may be given several times."`
}

// Run serves the pages until it is interrupted.
func (v *serveVerb) Run(s streams) error {
	o := app.Options{Data: v.Data, Listen: v.Listen, Certificate: v.Certificate, Key: v.Key, Hosts: v.Host, Guarded: v.AskAlways, SelfSigned: v.SelfSigned, Languages: v.Languages, Log: logTo(s, v.Verbose), Version: version()}
	var err error
	if o.NewOwnerPhrase, err = v.ownerPhrase(s); err != nil {
		return err
	}
	if v.Watch == "" {
		return serve(s, o, v.phrase)
	}
	c, err := station.Read(v.Watch, os.Environ(), committed(nil, v.CommitEvery))
	if err != nil {
		return err
	}
	st, err := station.New(context.Background(), c, station.Options{Log: o.Log, Version: version()})
	if err != nil {
		return err
	}
	if err := st.Start(context.Background()); err != nil {
		return errors.Join(err, st.Stop())
	}
	for _, line := range st.Told() {
		fmt.Fprintln(s.out, line)
	}
	o.Watch, o.Passes = st, st.Passes()
	return errors.Join(serve(s, o, v.phrase), st.Stop())
}

// phrase gets the pass phrase that is to be set; "" for none. wanted is set
// where none has been set before and the pages need one.
func (v *serveVerb) phrase(s streams, wanted bool) (string, error) {
	switch {
	case !wanted && !v.NewPassPhrase:
		return "", nil
	case v.PassPhraseFile != "":
		return firstLine(v.PassPhraseFile)
	}
	return newPhrase(s, fmt.Sprintf("The pages at %s can be reached by other machines, so they ask for a pass phrase.\n", v.Listen), "--pass-phrase-file")
}

// ownerPhrase gets the owner's pass phrase that is to be set; "" for none.
func (v *serveVerb) ownerPhrase(s streams) (string, error) {
	switch {
	case v.OwnerPhraseFile != "":
		return firstLine(v.OwnerPhraseFile)
	case !v.NewOwnerPhrase:
		return "", nil
	}
	return newPhrase(s, "The owner's pass phrase lets look at what is left in the tanks, and at nothing else.\n", "--owner-phrase-file")
}

func firstLine(file string) (string, error) {
	data, err := os.ReadFile(file)
	if err != nil {
		return "", err
	}
	line, _, _ := strings.Cut(string(data), "\n")
	return strings.TrimRight(line, "\r"), nil
}

// newPhrase asks for a pass phrase at the terminal, twice.
func newPhrase(s streams, about, flag string) (string, error) {
	in, ok := s.in.(*os.File)
	if !ok || !term.IsTerminal(int(in.Fd())) {
		return "", fmt.Errorf("a pass phrase has to be set, and there is no terminal to ask for it; put it into a file and name that with %s", flag)
	}
	ask := func(text string) (string, error) {
		fmt.Fprint(s.err, text)
		line, err := term.ReadPassword(int(in.Fd()))
		fmt.Fprintln(s.err)
		return string(line), err
	}
	fmt.Fprint(s.err, about)
	first, err := ask(fmt.Sprintf("New pass phrase, %d characters or more (four words will do): ", app.LeastPhrase))
	if err != nil {
		return "", err
	}
	second, err := ask("Once more: ")
	if err != nil {
		return "", err
	}
	if first != second {
		return "", errors.New("the two differ; nothing was set")
	}
	return first, nil
}

// serve runs the program until it is interrupted or ends by itself. phrase gets
// a pass phrase to set.
func serve(s streams, o app.Options, phrase func(s streams, wanted bool) (string, error)) error {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	var err error
	if o.NewPhrase, err = phrase(s, false); err != nil {
		return err
	}
	a, err := app.New(ctx, o)
	if errors.Is(err, app.ErrPhraseWanted) {
		if o.NewPhrase, err = phrase(s, true); err != nil {
			return err
		}
		a, err = app.New(ctx, o)
	}
	if err != nil {
		return err
	}
	if err := a.Start(ctx); err != nil {
		return errors.Join(err, a.Stop())
	}
	fmt.Fprintf(s.out, "Pages: %s\n", a.URL())
	for _, address := range reached(o.Listen, a.URL()) {
		fmt.Fprintf(s.out, "       %s from other machines\n", address)
	}
	if mark := a.Fingerprint(); mark != "" {
		fmt.Fprintf(s.out, "Certificate, SHA-256: %s\nBrowsers warn of it once, as nobody vouches for it: compare this with what they show.\n", mark)
	}
	if o.Demo != nil {
		if o.Demo.Link != "" {
			fmt.Fprintf(s.out, "Owner: %s%s, a link by which the owner looks at the tanks\n", a.URL(), o.Demo.Link)
		}
		fmt.Fprintln(s.out, "All of it is invented. End it with Ctrl-C; nothing is kept.")
	} else {
		fmt.Fprintf(s.out, "Data:  %s\nEnd it with Ctrl-C; what was taken is kept.\n", a.Data())
	}
	w, ended := station.Watched{Log: o.Log}, (<-chan struct{})(nil)
	st, watches := o.Watch.(*station.Station)
	if watches {
		w.Turning, w.Status, ended = st.Turning, st.Status, st.Ended()
	}
	leave := w.Tell(ctx)
	select {
	case <-ctx.Done():
	case <-a.Ended():
		err = a.Err()
	case <-ended:
		err = st.Err()
	}
	leave()
	return errors.Join(err, a.Stop())
}

// reached lists the addresses of the pages on this machine's networks, where
// they are open to all of them.
func reached(listen, own string) []string {
	host, _, err := net.SplitHostPort(listen)
	if err != nil || host != "" && !net.ParseIP(host).IsUnspecified() {
		return nil
	}
	scheme, rest, _ := strings.Cut(own, "://")
	_, port, err := net.SplitHostPort(strings.TrimSuffix(rest, "/"))
	if err != nil {
		return nil
	}
	addresses, err := net.InterfaceAddrs()
	if err != nil {
		return nil
	}
	var out []string
	for _, a := range addresses {
		if n, ok := a.(*net.IPNet); ok && n.IP.IsGlobalUnicast() && !n.IP.IsLoopback() {
			out = append(out, scheme+"://"+net.JoinHostPort(n.IP.String(), port)+"/")
		}
	}
	return out
}

// logTo is the program's log, on standard error: what someone has to know, or
// all that goes on.
func logTo(s streams, all bool) *slog.Logger {
	level := slog.LevelWarn
	if all {
		level = slog.LevelInfo
	}
	return slog.New(slog.NewTextHandler(s.err, &slog.HandlerOptions{Level: level}))
}
