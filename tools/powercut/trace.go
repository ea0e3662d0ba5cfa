package main

import (
	"bufio"
	"bytes"
	"encoding/hex"
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"strings"
)

// calls are the system calls that are traced: those by which a file and its name
// change, those by which that is made to last, and those by which the program
// tells the other side of a connection. The last few aren't reckoned with: one of
// them on a traced file is an error, so that nothing is overlooked.
// Those after a question mark aren't there on each processor.
const calls = "?open,openat,?creat,pwrite64,write,writev,sendto,sendmsg,ftruncate,truncate,fsync,fdatasync,?rename,?renameat,renameat2,?unlink,unlinkat,lseek," +
	"pwritev,pwritev2,fallocate,copy_file_range,sendfile,splice,sync_file_range,?link,linkat"

// kind is what an event does.
type kind int

const (
	opened    kind = iota // a name is there, with a new file where there was none
	written               // bytes in a file
	cut                   // a file has so many bytes
	syncing               // a file's changes so far begin to be made to last
	synced                // those that had begun when the one before came do
	renamed               // a file has another name
	unlinked              // a name is gone
	told                  // bytes went to the other side of a connection
	restarted             // the process is gone; what it wrote is still in memory
)

// event is one thing that happened, in the order in which it did.
type event struct {
	kind   kind
	path   string // of the file, or of its folder; of a connection its name
	to     string // renamed: the new name
	data   []byte
	offset int64 // written: where; cut: how many bytes
	mark   int   // syncing and synced: which
}

// reader reads what strace wrote of one process.
type reader struct {
	folder  string            // only what is in it counts
	waiting map[string]string // by thread: a call that has begun
	marks   map[string]int    // by thread: the sync that has begun
	at      map[string]int64  // by descriptor: where a plain write goes
	append  map[string]bool   // by descriptor: it goes to the end
	next    int
	events  []event
}

// read gives the events of a trace as strace -f -yy -xx wrote it. mark is a
// number above those of the syncs of other traces.
func read(trace io.Reader, folder string, mark int) ([]event, error) {
	r := &reader{folder: folder, waiting: map[string]string{}, marks: map[string]int{}, at: map[string]int64{}, append: map[string]bool{}, next: mark}
	lines := bufio.NewScanner(trace)
	lines.Buffer(make([]byte, 1<<20), 64<<20)
	n := 0
	for lines.Scan() {
		n++
		if err := r.line(lines.Text()); err != nil {
			return nil, fmt.Errorf("line %d of the trace, %.200q: %w", n, lines.Text(), err)
		}
	}
	return r.events, lines.Err()
}

// line takes in one line: a call, its beginning, or its end.
func (r *reader) line(line string) error {
	thread, rest, ok := strings.Cut(strings.TrimSpace(line), " ")
	rest = strings.TrimSpace(rest)
	if !ok || strings.HasPrefix(rest, "+++") || strings.HasPrefix(rest, "---") {
		return nil
	}
	if begun, ok := strings.CutSuffix(rest, "<unfinished ...>"); ok {
		begun = strings.TrimSpace(begun)
		r.waiting[thread] = begun
		return r.begins(thread, begun)
	}
	if resumed, ok := strings.CutPrefix(rest, "<... "); ok {
		_, end, ok := strings.Cut(resumed, "resumed>")
		begun, known := r.waiting[thread]
		if !ok || !known {
			return fmt.Errorf("the end of a call that didn't begin")
		}
		delete(r.waiting, thread)
		return r.ends(thread, begun+end)
	}
	if err := r.begins(thread, rest); err != nil {
		return err
	}
	return r.ends(thread, rest)
}

// call takes a call apart: its name, its arguments as far as they are there, and
// what it gave.
func call(text string) (name string, args []string, result string) {
	name, rest, _ := strings.Cut(text, "(")
	if i := strings.LastIndex(rest, ") = "); i >= 0 {
		rest, result = rest[:i], rest[i+4:]
	} else if i := strings.LastIndex(rest, " = "); i >= 0 && strings.HasSuffix(strings.TrimSpace(rest[:i]), ")") {
		result, rest = strings.TrimSpace(rest[i+3:]), strings.TrimSuffix(strings.TrimSpace(rest[:i]), ")")
	}
	depth, quoted, from := 0, false, 0
	for i := 0; i < len(rest); i++ {
		switch c := rest[i]; {
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '[' || c == '{' || c == '<':
			depth++
		case c == ']' || c == '}' || c == '>' && (i == 0 || rest[i-1] != '-'): // "->" stands between addresses
			depth--
		case c == ',' && depth == 0:
			args = append(args, strings.TrimSpace(rest[from:i]))
			from = i + 1
		}
	}
	return name, append(args, strings.TrimSpace(rest[from:])), strings.TrimSpace(result)
}

// file gives the path of a descriptor's file, "" where it isn't one of the
// folder's.
func (r *reader) file(descriptor string) string {
	_, path, _ := strings.Cut(descriptor, "<")
	path = strings.TrimSuffix(path, ">")
	if raw, err := unquoted(path); err == nil {
		path = string(raw)
	}
	return r.ours(path)
}

func (r *reader) ours(path string) string {
	if path == r.folder || filepath.Dir(path) == r.folder {
		return path
	}
	return ""
}

// named gives the path of an argument with a name, relative to a descriptor.
func (r *reader) named(name string) (string, error) {
	raw, err := unquoted(strings.Trim(name, `"`))
	return r.ours(string(raw)), err
}

// unquoted gives the bytes of a text as strace -xx writes it.
func unquoted(text string) ([]byte, error) {
	if strings.Trim(text, `\x0123456789abcdef`) != "" {
		return nil, fmt.Errorf("%.40q isn't all in hexadecimal", text)
	}
	return hex.DecodeString(strings.ReplaceAll(text, `\x`, ""))
}

func (r *reader) add(e event) { r.events = append(r.events, e) }

// begins takes in a call when it begins: from then on its bytes may be on the
// disk, or with the other side.
func (r *reader) begins(thread, text string) error {
	name, args, _ := call(text)
	switch name {
	case "write", "pwrite64":
		path := r.file(args[0])
		if path == "" && !strings.Contains(args[0], "<TCP") {
			return nil
		}
		data, err := quoted(args[1])
		if err != nil {
			return err
		}
		if path == "" {
			r.add(event{kind: told, path: args[0], data: data})
			return nil
		}
		at := r.at[args[0]]
		if name == "pwrite64" {
			if at, err = strconv.ParseInt(args[3], 10, 64); err != nil {
				return err
			}
		} else if r.append[args[0]] {
			return fmt.Errorf("%s is appended to, which isn't reckoned with", path)
		} else {
			r.at[args[0]] += int64(len(data))
		}
		r.add(event{kind: written, path: path, data: data, offset: at})
	case "ftruncate":
		if path := r.file(args[0]); path != "" {
			size, err := strconv.ParseInt(args[1], 10, 64)
			if err != nil {
				return err
			}
			r.add(event{kind: cut, path: path, offset: size})
		}
	case "fsync", "fdatasync":
		if path := r.file(args[0]); path != "" {
			r.next++
			r.marks[thread] = r.next
			r.add(event{kind: syncing, path: path, mark: r.next})
		}
	case "writev", "sendmsg", "sendto":
		if strings.Contains(args[0], "<TCP") {
			var data []byte
			for i, part := range strings.Split(args[1], `"`) {
				if i%2 == 0 {
					continue
				}
				raw, err := unquoted(part)
				if err != nil {
					return err
				}
				data = append(data, raw...)
			}
			r.add(event{kind: told, path: args[0], data: data})
		} else if r.file(args[0]) != "" {
			return fmt.Errorf("%s on a file isn't reckoned with", name)
		}
	case "pwritev", "pwritev2", "fallocate", "sync_file_range":
		if r.file(args[0]) != "" {
			return fmt.Errorf("%s isn't reckoned with", name)
		}
	case "copy_file_range", "splice", "sendfile":
		if r.file(args[0]) != "" || len(args) > 2 && r.file(args[2]) != "" {
			return fmt.Errorf("%s isn't reckoned with", name)
		}
	}
	return nil
}

// ends takes in a call when it has ended: from then on it is done.
func (r *reader) ends(thread, text string) error {
	name, args, result := call(text)
	if strings.HasPrefix(result, "-1") || result == "?" || result == "" {
		if mark := r.marks[thread]; mark != 0 && (name == "fsync" || name == "fdatasync") {
			delete(r.marks, thread) // it isn't done
		}
		if strings.HasPrefix(result, "-1") && (name == "pwrite64" || name == "write") && r.file(args[0]) != "" {
			return fmt.Errorf("a write failed")
		}
		return nil
	}
	switch name {
	case "open", "openat":
		path, how := r.file(result), args[strings.Count(name, "at")+1]
		r.at[result], r.append[result] = 0, strings.Contains(how, "O_APPEND")
		if path == "" || path == r.folder {
			return nil
		}
		if strings.Contains(how, "O_CREAT") {
			r.add(event{kind: opened, path: path})
		}
		if strings.Contains(how, "O_TRUNC") {
			r.add(event{kind: cut, path: path})
		}
	case "lseek":
		at, err := strconv.ParseInt(result, 10, 64)
		if err != nil {
			return err
		}
		r.at[args[0]] = at
	case "pwrite64":
		if r.file(args[0]) != "" && result != args[2] {
			return fmt.Errorf("it wrote %s bytes of %s, which isn't reckoned with", result, args[2])
		}
	case "fsync", "fdatasync":
		if path := r.file(args[0]); path != "" {
			r.add(event{kind: synced, path: path, mark: r.marks[thread]})
		}
	case "unlink", "unlinkat":
		path, err := r.named(args[len(args)-1-strings.Count(name, "at")])
		if err == nil && path != "" {
			r.add(event{kind: unlinked, path: path})
		}
		return err
	case "rename", "renameat", "renameat2":
		first, second := 0, 1
		if name != "rename" {
			first, second = 1, 3
		}
		from, err := r.named(args[first])
		if err != nil {
			return err
		}
		to, err := r.named(args[second])
		if err != nil {
			return err
		}
		if (from == "") != (to == "") {
			return fmt.Errorf("a file comes from elsewhere, which isn't reckoned with")
		}
		if from != "" {
			r.add(event{kind: renamed, path: from, to: to})
		}
	case "link", "linkat", "truncate", "creat":
		for _, a := range args {
			if path, err := r.named(a); err == nil && path != "" {
				return fmt.Errorf("%s isn't reckoned with", name)
			}
		}
	}
	return nil
}

// quoted gives the bytes of an argument in quotes, which has to be whole.
func quoted(arg string) ([]byte, error) {
	if len(arg) < 2 || arg[0] != '"' || arg[len(arg)-1] != '"' {
		return nil, fmt.Errorf("%.20q isn't a whole text", arg)
	}
	return unquoted(arg[1 : len(arg)-1])
}

// acknowledged gives the numbers of the PUBACK packets in what a broker sent,
// and the bytes of a packet that isn't whole yet (MQTT 5, 2.1.4 and 3.4).
func acknowledged(sent []byte) (numbers []int, rest []byte, err error) {
	for len(sent) >= 2 {
		length, n, shift := 0, 1, 0
		for {
			if n >= len(sent) {
				return numbers, sent, nil
			}
			b := sent[n]
			length |= int(b&0x7f) << shift
			n, shift = n+1, shift+7
			if b < 0x80 {
				break
			}
			if shift > 21 {
				return nil, nil, fmt.Errorf("% x isn't MQTT", sent[:5])
			}
		}
		if len(sent) < n+length {
			return numbers, sent, nil
		}
		if sent[0] == 0x40 && length >= 2 && !(length > 2 && sent[n+2] >= 0x80) {
			numbers = append(numbers, int(sent[n])<<8|int(sent[n+1]))
		}
		sent = bytes.Clone(sent[n+length:])
	}
	return numbers, sent, nil
}
