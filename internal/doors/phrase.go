package doors

import (
	"crypto/hkdf"
	"crypto/pbkdf2"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"sync"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"
)

// LeastPhrase is how many characters a pass phrase has at least: what NIST
// SP 800-63B-4, 3.1.1.2, asks of a password that stands alone. Four words do.
const LeastPhrase = 15

// MostPhrase is how many bytes one has at most, which keeps whoever asks from
// making the program hash a book.
const MostPhrase = 1024

// Cost is what one check of a pass phrase costs (RFC 9106, 3.1).
type Cost struct {
	Memory uint32 // m, in KiB
	Passes uint32 // t
	Lanes  uint8  // p
}

// Usual is the cost of a new pass phrase: the first choice of OWASP's Password
// Storage Cheat Sheet for Argon2id, 19 MiB and two passes in one lane. RFC 9106,
// 4, would have 64 MiB, which a small computer in a vehicle can't spare.
var Usual = Cost{Memory: 19 * 1024, Passes: 2, Lanes: 1}

// The dearest check that is made of what a file says.
const (
	mostMemory = 256 * 1024 // KiB
	mostTimes  = 16
	mostLanes  = 8
	mostRounds = 60_000_000 // of PBKDF2
)

// Lengths in bytes (RFC 9106, 3.1 and 4).
const (
	saltBytes = 16
	hashBytes = 32
)

const oldKind = "pbkdf2-sha256"

// Phrase is a pass phrase as it is kept: what tells the right one and says
// nothing else of it. The zero Phrase opens to nothing.
type Phrase struct {
	cost       Cost
	rounds     int // of PBKDF2; 0: Argon2id
	salt, hash []byte
}

// one has a pass phrase checked after the other: each takes its memory.
var one sync.Mutex

// CheckPhrase says what is wrong with a new pass phrase.
func CheckPhrase(text string) error {
	if got := utf8.RuneCountInString(text); got < LeastPhrase {
		return fmt.Errorf("the pass phrase has %d characters; expected %d or more: four words will do", got, LeastPhrase)
	}
	if len(text) > MostPhrase {
		return fmt.Errorf("the pass phrase has %d bytes; expected %d at the most", len(text), MostPhrase)
	}
	if usual(text) {
		return errors.New("the pass phrase is one that many use, or one sign over and over; expected one that nobody would guess: four words will do")
	}
	return nil
}

// usual says whether a pass phrase is among the first that anyone would try: few
// signs over and over, a row of keys, or the program's name and its like. Lists of
// passwords have hardly any of this length (NIST SP 800-63B-4, 3.1.1.2).
func usual(text string) bool {
	text = strings.ToLower(text)
	seen := map[rune]bool{}
	for _, r := range text {
		seen[r] = true
	}
	if len(seen) < 5 {
		return true
	}
	plain := strings.Map(func(r rune) rune {
		if strings.ContainsRune(" -_.,!", r) {
			return -1
		}
		return r
	}, text)
	for _, row := range [...]string{"1234567890", "qwertyuiopasdfghjklzxcvbnm", "qwertzuiopasdfghjklyxcvbnm", "abcdefghijklmnopqrstuvwxyz", "password", "passwort", "passphrase", "gaugewright", "correcthorsebatterystaple"} {
		long := strings.Repeat(row, len(plain)/len(row)+2)
		if strings.Contains(long, plain) {
			return true
		}
	}
	return false
}

// NewPhrase keeps a pass phrase. What is wrong with it is an error.
func NewPhrase(text string, c Cost) (Phrase, error) {
	if err := CheckPhrase(text); err != nil {
		return Phrase{}, err
	}
	p := Phrase{cost: c, salt: make([]byte, saltBytes)}
	_, _ = rand.Read(p.salt) // never fails
	p.hash = p.derive(text)
	return p, nil
}

var errPhrase = errors.New("the pass phrase that was kept can't be read; set it again")

// ReadPhrase reads what String wrote, and what this program wrote before: PBKDF2
// with HMAC-SHA-256.
func ReadPhrase(text string) (Phrase, error) {
	parts := strings.Split(text, "$")
	e := base64.RawStdEncoding
	var p Phrase
	var err, err2 error
	switch {
	case len(parts) == 4 && parts[0] == oldKind:
		p.rounds, err = strconv.Atoi(parts[1])
		if err != nil || p.rounds < 1 || p.rounds > mostRounds {
			return Phrase{}, errPhrase
		}
	case len(parts) == 6 && parts[0] == "" && parts[1] == "argon2id" && parts[2] == "v=19":
		var again string
		_, err = fmt.Sscanf(parts[3], "m=%d,t=%d,p=%d", &p.cost.Memory, &p.cost.Passes, &p.cost.Lanes)
		again = p.cost.String()
		if err != nil || again != parts[3] || p.cost.Memory < 8*uint32(p.cost.Lanes) || p.cost.Memory > mostMemory ||
			p.cost.Passes < 1 || p.cost.Passes > mostTimes || p.cost.Lanes < 1 || p.cost.Lanes > mostLanes {
			return Phrase{}, errPhrase
		}
	default:
		return Phrase{}, errPhrase
	}
	p.salt, err = e.Strict().DecodeString(parts[len(parts)-2])
	p.hash, err2 = e.Strict().DecodeString(parts[len(parts)-1])
	if err != nil || err2 != nil || len(p.hash) != hashBytes || len(p.salt) < 4 || len(p.salt) > 64 {
		return Phrase{}, errPhrase
	}
	return p, nil
}

func (c Cost) String() string { return fmt.Sprintf("m=%d,t=%d,p=%d", c.Memory, c.Passes, c.Lanes) }

// String writes it in the form of the Password Hashing Competition:
// $argon2id$v=19$m=…,t=…,p=…$salt$hash.
func (p Phrase) String() string {
	e := base64.RawStdEncoding
	end := "$" + e.EncodeToString(p.salt) + "$" + e.EncodeToString(p.hash)
	switch {
	case p.hash == nil:
		return ""
	case p.rounds > 0:
		return oldKind + "$" + strconv.Itoa(p.rounds) + end
	}
	return "$argon2id$v=19$" + p.cost.String() + end
}

// Set says whether there is one.
func (p Phrase) Set() bool { return p.hash != nil }

// Old says whether it should be kept anew, at that cost, when next it is given.
func (p Phrase) Old(c Cost) bool {
	return p.Set() && (p.rounds > 0 || p.cost.Memory < c.Memory || p.cost.Passes < c.Passes)
}

func (p Phrase) derive(text string) []byte {
	if p.rounds > 0 {
		hash, err := pbkdf2.Key(sha256.New, text, p.salt, p.rounds, hashBytes)
		if err != nil {
			return nil // only where the rules of a government are to be kept
		}
		return hash
	}
	return argon2.IDKey([]byte(text), p.salt, p.cost.Passes, p.cost.Memory, p.cost.Lanes, hashBytes)
}

// Opens says whether a text is the pass phrase. It takes as long for a wrong one,
// and one check is made after the other.
func (p Phrase) Opens(text string) bool {
	if !p.Set() || len(text) > MostPhrase {
		return false
	}
	one.Lock()
	defer one.Unlock()
	return subtle.ConstantTimeCompare(p.derive(text), p.hash) == 1
}

// Mark names the pass phrase without telling anything of it.
func (p Phrase) Mark() string {
	m, err := hkdf.Key(sha256.New, p.hash, p.salt, "gaugewright session", 9)
	if err != nil {
		panic(err) // the length above is impossible
	}
	return base64.RawURLEncoding.EncodeToString(m)
}
