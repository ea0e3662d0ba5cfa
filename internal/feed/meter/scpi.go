package meter

import (
	"context"
	"fmt"
	"log/slog"
	"strings"
	"time"

	"gaugewright/internal/curve"
	"gaugewright/internal/sitting"
)

// header names the measurement of a signal, as it stands behind MEAS: and
// CONF: (SCPI-99, MEASure subsystem).
func header(s curve.Signal) string {
	return [...]string{curve.Ohms: "RES", curve.Volts: "VOLT:DC", curve.Milliamps: "CURR:DC", curve.Ratio: ""}[s]
}

// mostFaults bounds how many entries of an error queue are read: SCPI-99 asks
// for two at the least, common queues hold ten to thirty.
const mostFaults = 40

// dialogue is a conversation with a SCPI meter: one question, one answer.
type dialogue struct {
	*link
	setup    Setup
	log      *slog.Logger
	question string // for a value
	noQueue  bool   // the meter doesn't answer SYST:ERR?
}

// misfit is what is wrong with a meter that answers and can't be used so.
type misfit struct{ words string }

func (m misfit) Error() string { return m.words }

// begin finds out who is there and sets the meter. Its errors are those of
// line, or a misfit.
func (d *dialogue) begin(ctx context.Context) (Identity, error) {
	d.question = "MEAS:" + header(d.setup.Signal) + "?"
	if d.setup.serial() {
		if err := d.drop(ctx); err != nil {
			return Identity{}, err
		}
	}
	id, err := d.fence(ctx)
	if err != nil {
		return id, err
	}
	first := []string{"*CLS"}
	if d.setup.serial() {
		// On a serial line many meters obey only in remote state (common
		// practice, no source); one that doesn't know it says so in its queue.
		first = append(first, "SYST:REM")
	}
	for _, message := range first {
		if err := d.send(ctx, message, silence); err != nil {
			return id, err
		}
	}
	if _, err := d.faults(ctx); err != nil || d.setup.Ask != Read {
		return id, err
	}
	set := "CONF:" + header(d.setup.Signal)
	d.question = "READ?"
	if err := d.send(ctx, set, silence); err != nil {
		return id, err
	}
	said, err := d.faults(ctx)
	if err == nil && said != "" {
		err = misfit{"can't be set by " + set + ": it says " + said + "; set it by hand, or choose the other way of asking"}
	}
	return id, err
}

// fence asks who is there, and leaves behind everything that was under way
// before: a reply to *IDN? is unlike any other. A meter whose reply hasn't the
// four fields is taken by its word once it has been quiet.
func (d *dialogue) fence(ctx context.Context) (Identity, error) {
	if err := d.send(ctx, "*IDN?", silence); err != nil {
		return Identity{}, err
	}
	other := ""
	for end := time.Now().Add(silence); ; {
		line, err := d.line(ctx, time.Until(end))
		switch {
		case err == errSilent && other != "":
			return Identity{Model: strings.ToValidUTF8(strings.TrimSpace(other), "?")}, nil
		case err != nil:
			return Identity{}, err
		}
		if id, ok := identityOf(line); ok {
			return id, nil
		}
		_, _, fault := faultOf(line)
		if a := replyTo(line, d.setup.Signal); a.state == sitting.Garbled && !fault && !d.echo(line) && len(line) > 4 {
			other = line
		}
	}
}

// ask asks one question and gives its one answer.
func (d *dialogue) ask(ctx context.Context, question string, within time.Duration) (string, error) {
	if err := d.send(ctx, question, within); err != nil {
		return "", err
	}
	for end := time.Now().Add(within); ; {
		line, err := d.line(ctx, time.Until(end))
		if err != nil || !d.echo(line) {
			return line, err
		}
	}
}

// faults empties the meter's error queue and gives what was in it, in words,
// or "". Messages that set the meter have been carried out once it answers.
func (d *dialogue) faults(ctx context.Context) (string, error) {
	if d.noQueue {
		return "", nil
	}
	var list []string
	for range mostFaults {
		line, err := d.ask(ctx, "SYST:ERR?", silence/2)
		if err == errSilent && len(list) == 0 {
			d.noQueue = true // and it may answer late, or never
			_, err = d.fence(ctx)
			return "", err
		}
		if err != nil {
			return "", err
		}
		code, text, ok := faultOf(line)
		if !ok {
			d.log.Debug("meter: no error queue", "meter", d.setup.endpoint(), "answer", line)
			d.noQueue = true
			_, err = d.fence(ctx)
			return "", err
		}
		if code == 0 {
			break
		}
		d.log.Debug("meter: error queue", "meter", d.setup.endpoint(), "code", code, "text", text)
		if len(list) < 3 {
			list = append(list, fmt.Sprintf("%d %s", code, text))
		}
	}
	return strings.Join(list, ", "), nil
}

// value asks for one value.
func (d *dialogue) value(ctx context.Context) (answer, error) {
	line, err := d.ask(ctx, d.question, silence)
	if err != nil {
		return answer{}, err
	}
	if len(d.cut.lines) > 0 {
		// Nothing tells which of the two belongs to the question.
		if err := d.resume(ctx); err != nil {
			return answer{}, err
		}
		return answer{state: sitting.Garbled, words: "sends two answers to one question; look whether another program asks it too"}, nil
	}
	return replyTo(line, d.setup.Signal), nil
}

// resume finds back to one question, one answer.
func (d *dialogue) resume(ctx context.Context) error {
	if err := d.drop(ctx); err != nil {
		return err
	}
	_, err := d.fence(ctx)
	return err
}

// why asks a meter that didn't answer what was wrong with the question, and
// gives words if it says so. Whatever else it sends is passed over.
func (d *dialogue) why(ctx context.Context) string {
	if d.noQueue || d.send(ctx, "SYST:ERR?", silence/4) != nil {
		return ""
	}
	for end := time.Now().Add(silence / 4); ; {
		line, err := d.line(ctx, time.Until(end))
		if err != nil {
			return ""
		}
		// Commands it can't use are -100 to -199, and the state it is in forbids
		// them by -200 to -299; the rest, such as -410, comes of being slow.
		if code, text, ok := faultOf(line); ok && code <= -100 && code > -300 {
			return fmt.Sprintf("can't do %s: it says %d %s; choose the other way of asking", d.question, code, text)
		}
	}
}

// part hands the meter back to its own keys.
func (d *dialogue) part() {
	if d.setup.serial() {
		ctx, cancel := context.WithTimeout(context.Background(), closeTime)
		defer cancel()
		_ = d.send(ctx, "SYST:LOC", closeTime)
	}
}
