// Command mqttload measures how many readings a second come in by MQTT at
// quality of service 1, and what each costs the server's process in processor
// time: the broker inside with readings on disk and watched, the broker's library
// alone, and Debian's mosquitto, one after the other, each a process of its own
// on this machine.
//
//	go run ./tools/mqttload [-for 10s] [-connections 1000] [-window 20] [-tanks N] [-servers ours,bare,mosquitto,watch]
//
// The generator writes bytes that were made ready before, and counts bytes that
// come back, so that it takes little of the machine that it shares with the
// server.
package main

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"time"
)

func main() {
	if len(os.Args) > 1 && os.Args[1] == "serve" {
		if err := serve(os.Args[2:]); err != nil {
			fail(err)
		}
		return
	}
	l := load{warming: 2 * time.Second}
	flag.DurationVar(&l.length, "for", 10*time.Second, "how long each server is measured")
	flag.IntVar(&l.connections, "connections", 1000, "connections")
	flag.IntVar(&l.window, "window", 20, "messages that a connection sends before it waits for their acknowledgements")
	flag.IntVar(&l.tanks, "tanks", 0, "tanks; 0: one for each connection")
	flag.BoolVar(&l.five, "five", false, "MQTT 5 instead of 3.1.1")
	servers := flag.String("servers", "ours,bare,mosquitto", "which servers, in this order")
	flag.StringVar(&l.program, "program", "gaugewright", "the program, for the server \"watch\": all of gaugewright watch, with levels published")
	data := flag.String("data", os.TempDir(), "folder, on the disk to be measured, for the file of readings")
	profile := flag.String("profile", "", "file for a processor profile of our server")
	flag.Parse()
	if l.tanks == 0 {
		l.tanks = l.connections
	}
	if flag.NArg() > 0 || l.connections < 1 || l.window < 1 || l.window > 500 || l.tanks < 1 || l.length < time.Second {
		fail(fmt.Errorf("found %d connections, a window of %d, %d tanks, %v; expected at least 1, 1 to 500, 1, and a second", l.connections, l.window, l.tanks, l.length))
	}
	fmt.Printf("%d connections, %d messages at a time each, %d tanks, %v\n", l.connections, l.window, l.tanks, l.length)
	fmt.Println("server      messages/s   server's µs each   generator's µs each   slowest window   what it says of itself")
	for _, name := range strings.Split(*servers, ",") {
		s, err := start(name, *data, *profile, l)
		if err != nil {
			fail(err)
		}
		r, err := l.run(s)
		said, stopping := s.stop()
		if err == nil {
			err = stopping
		}
		if err != nil {
			fail(fmt.Errorf("%s: %w", name, err))
		}
		fmt.Printf("%-10s %11.0f %18.2f %21.2f %16v   %s\n", name, r.rate, r.server, r.generator, r.slowest.Round(time.Millisecond), said)
	}
}

func fail(err error) {
	fmt.Fprintln(os.Stderr, "mqttload:", err)
	os.Exit(2)
}
