package mail

import (
	"context"
	"crypto/sha256"
	"crypto/tls"
	"encoding/hex"
	"errors"
	"fmt"
	"net"
	netmail "net/mail"
	"strings"
	"sync/atomic"
	"time"

	gomail "github.com/wneessen/go-mail"

	"gaugewright/internal/notice"
)

// within is how long one mail may take, from the connection on.
const within = time.Minute

// Way sends mail to one address. Its Send may be called by several at once; each makes
// a connection of its own.
type Way struct {
	name string
	s    settings
	to   netmail.Address
}

// New makes the ways of a configuration, one for each who gets mail: the first has the
// name, the others that with their number after it. All that is wrong is told, a line
// each.
func New(name string, c Config) ([]*Way, error) {
	s, err := c.settled()
	if err != nil {
		return nil, err
	}
	var ways []*Way
	for i, to := range s.to {
		w := &Way{name: name, s: s, to: to}
		if i > 0 {
			w.name = fmt.Sprintf("%s/%d", name, i+1)
		}
		ways = append(ways, w)
	}
	return ways, nil
}

// Name is the way's name, and What the address it leads to.
func (w *Way) Name() string { return w.name }

// What is the address that the way leads to.
func (w *Way) What() string { return w.to.Address }

// Send hands a mail to the server. When there is no error the server has taken it.
func (w *Way) Send(ctx context.Context, m notice.Message) error {
	ctx, done := context.WithTimeout(ctx, within)
	defer done()
	msg, err := w.compose(m)
	if err != nil {
		return notice.Permanently(err)
	}
	var reached atomic.Bool
	client, err := w.client(ctx, &reached)
	if err != nil {
		return err
	}
	if err := client.DialWithContext(ctx); err != nil {
		if !reached.Load() {
			return notice.Unreached(fmt.Errorf("the mail server %s isn't reached: %w", w.s.Host, err))
		}
		return fmt.Errorf("the mail server %s: %w", w.s.Host, err)
	}
	err = client.Send(msg)
	delivered := msg.IsDelivered()
	_ = client.Close() // it is taken, or isn't: a farewell that fails changes neither
	if delivered {
		return nil
	}
	var sent *gomail.SendError
	if errors.As(err, &sent) && sent.ErrorCode() >= 500 {
		return notice.Permanently(fmt.Errorf("the mail server %s refuses it: %w", w.s.Host, said(err)))
	}
	if err == nil {
		err = errors.New("it doesn't say that it took it")
	}
	return fmt.Errorf("the mail server %s doesn't take it now: %w", w.s.Host, said(err))
}

// said is an error in one line of a bounded length: a server may say anything.
func said(err error) error {
	const most = 300
	text := strings.Join(strings.FieldsFunc(err.Error(), func(r rune) bool { return r <= ' ' || r == 0x7f }), " ")
	if len(text) > most {
		text = strings.ToValidUTF8(text[:most], "") + " …"
	}
	return errors.New(text)
}

// client makes a client for one connection, which ends with the whole context. reached
// is set when somebody answers.
func (w *Way) client(whole context.Context, reached *atomic.Bool) (*gomail.Client, error) {
	options := []gomail.Option{
		gomail.WithPort(w.s.Port), gomail.WithTimeout(within), gomail.WithTLSConfig(w.s.tls()),
		gomail.WithDialContextFunc(func(ctx context.Context, network, addr string) (net.Conn, error) {
			c, err := (&net.Dialer{}).DialContext(ctx, network, addr)
			if err != nil {
				return nil, err
			}
			reached.Store(true)
			if w.s.TLS == implicit {
				secure := tls.Client(c, w.s.tls())
				if err := secure.HandshakeContext(ctx); err != nil {
					return nil, errors.Join(err, c.Close())
				}
				c = secure
			}
			// The library's own limits begin anew with each answer.
			limit := &limited{Conn: c}
			limit.until, _ = whole.Deadline()
			context.AfterFunc(whole, func() { _ = c.Close() })
			return limit, nil
		}),
	}
	switch w.s.TLS {
	case startTLS:
		options = append(options, gomail.WithTLSPolicy(gomail.TLSMandatory))
	case implicit:
		options = append(options, gomail.WithSSL())
	default:
		options = append(options, gomail.WithTLSPolicy(gomail.NoTLS))
	}
	if w.s.User != "" {
		password, err := w.s.password()
		if err != nil {
			return nil, err
		}
		// The password itself goes over TLS alone, and never leaves this machine
		// otherwise. Of TLS that was begun here the library doesn't know.
		ways := []gomail.SMTPAuthType{gomail.SMTPAuthSCRAMSHA256, gomail.SMTPAuthSCRAMSHA1, gomail.SMTPAuthPlain, gomail.SMTPAuthLogin, gomail.SMTPAuthCramMD5}
		if w.s.TLS == implicit {
			ways[2], ways[3] = gomail.SMTPAuthPlainNoEnc, gomail.SMTPAuthLoginNoEnc
		}
		options = append(options, gomail.WithOpportunisticSMTPAuth(ways...), gomail.WithUsername(w.s.User), gomail.WithPassword(password))
	}
	return gomail.NewClient(w.s.Host, options...)
}

// limited is a connection on which no limit is later than until.
type limited struct {
	net.Conn
	until time.Time
}

func (l *limited) SetDeadline(t time.Time) error {
	if !l.until.IsZero() && (t.IsZero() || t.After(l.until)) {
		t = l.until
	}
	return l.Conn.SetDeadline(t)
}

// compose writes a message.
func (w *Way) compose(m notice.Message) (*gomail.Msg, error) {
	msg := gomail.NewMsg(gomail.WithNoDefaultUserAgent(), gomail.WithEncoding(gomail.EncodingQP))
	msg.FromMailAddress(&w.s.from)
	msg.ToMailAddress(&w.to)
	if strings.ContainsAny(m.Subject, "\r\n\x00") {
		return nil, fmt.Errorf("the subject of %s has more than one line", m.ID)
	}
	msg.Subject(m.Subject)
	msg.SetMessageIDWithValue(messageID(m.ID, domain(w.s.from)))
	msg.SetDateWithValue(m.Sent)
	msg.SetGenHeader("Auto-Submitted", "auto-generated") // RFC 3834, 5
	if m.Priority == notice.Critical {
		msg.SetGenHeader(gomail.HeaderImportance, "high") // RFC 4021, 2.1.53
	}
	language := w.s.Language
	if language == "" {
		language = "en"
	}
	msg.SetGenHeader("Content-Language", language) // RFC 3282
	msg.SetBodyString(gomail.TypeTextPlain, m.Body())
	return msg, nil
}

// messageID is the same for the same notice, whoever gets it (RFC 5322, 3.6.4).
func messageID(id, domain string) string {
	sum := sha256.Sum256([]byte(id))
	return hex.EncodeToString(sum[:16]) + ".gaugewright@" + domain
}

// Language is that of those who get the mail; "" is English.
func (w *Way) Language() string { return w.s.Language }

// Only are the priorities that go this way; none: all.
func (w *Way) Only() []string { return w.s.Only }
