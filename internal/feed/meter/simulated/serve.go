package simulated

import (
	"bufio"
	"io"
	"strings"
	"sync"
	"time"
)

// Serve is one connection: it answers what comes over it until that ends, and
// closes it. Listen does so for every connection to its socket; with New it
// may be a serial line or a pipe.
func (i *Instrument) Serve(rw io.ReadWriteCloser) {
	i.mu.Lock()
	refused := i.closed || i.fault == Gone
	if !refused {
		i.conns[rw] = true
	}
	i.mu.Unlock()
	defer rw.Close()
	if refused {
		return
	}
	c := &connection{Instrument: i, rw: rw, end: make(chan struct{})}
	var sending sync.WaitGroup
	if i.o.Lines > 0 {
		sending.Go(c.sendLines)
	}
	c.answer()
	close(c.end)
	rw.Close()
	sending.Wait()
	i.mu.Lock()
	delete(i.conns, rw)
	i.mu.Unlock()
}

type connection struct {
	*Instrument
	rw     io.ReadWriteCloser
	end    chan struct{}
	unsent bool // a reply waits that was never sent
}

// answer reads messages to their LF or CR and answers them.
func (c *connection) answer() {
	r := bufio.NewScanner(c.rw)
	r.Split(splitMessages)
	for r.Scan() {
		message := strings.TrimSpace(r.Text())
		if message == "" || c.o.Lines > 0 {
			continue
		}
		if c.o.Echo {
			c.write(message + c.o.End)
		}
		if c.unsent { // 488.2: the reply is thrown away, the error told
			c.unsent = false
			c.fail(-410, "Query INTERRUPTED")
		}
		reply, value := c.obey(message)
		if reply == "" {
			continue
		}
		if value && !c.sendValue(reply) || !value && !c.write(reply+c.o.End) {
			return
		}
	}
}

// sendValue sends a reply that bears a value, with whatever is wrong; false if
// the connection is over.
func (c *connection) sendValue(reply string) bool {
	if c.o.Delay > 0 && !c.wait(c.o.Delay) {
		return false
	}
	half := len(reply) / 2
	switch c.now() {
	case Silent:
		c.unsent = true
		return true
	case Drop:
		c.write(reply[:half])
		return false
	case Half:
		return c.write(reply[:half]) && c.wait(c.o.Late) && c.write(reply[half:]+c.o.End)
	case Twice:
		return c.write("+7.77000000E+01" + c.o.End + reply + c.o.End)
	}
	return c.write(reply + c.o.End)
}

func (c *connection) sendLines() {
	for c.wait(c.o.Lines) && c.sendValue(c.reply(inOhms)) {
	}
	c.rw.Close()
}

// wait is false if the connection ended meanwhile.
func (c *connection) wait(d time.Duration) bool {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
		return true
	case <-c.end:
		return false
	case <-c.over:
		return false
	}
}

// write sends a text, at once or byte by byte.
func (c *connection) write(text string) bool {
	if c.o.Drip <= 0 {
		_, err := io.WriteString(c.rw, text)
		return err == nil
	}
	for n := range len(text) {
		time.Sleep(c.o.Drip)
		if _, err := io.WriteString(c.rw, text[n:n+1]); err != nil {
			return false
		}
	}
	return true
}

// splitMessages is a bufio.SplitFunc: messages end with LF or CR.
func splitMessages(data []byte, atEOF bool) (int, []byte, error) {
	for n, b := range data {
		if b == '\n' || b == '\r' {
			return n + 1, data[:n], nil
		}
	}
	return 0, nil, nil
}
