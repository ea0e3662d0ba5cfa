package docket

import (
	"bytes"
	"errors"
	"fmt"
)

// What a [Book] answers where it can't do what is asked.
var (
	ErrNone  = errors.New("there is no such docket")
	ErrOther = errors.New("another docket has that ID")
	ErrRoom  = errors.New("there is no more room for dockets")
)

// PhotoType gives the media type of a picture by its first bytes, for the three that are
// taken: JPEG, PNG and WebP. An error says what can't be kept.
//
// The signatures are those of ISO/IEC 10918-1 (SOI), the PNG specification, 5.2, and the
// WebP container's RIFF header (from memory).
func PhotoType(data []byte) (string, error) {
	switch {
	case len(data) > MostPhoto:
		return "", fmt.Errorf("the picture has %d kB; expected up to %d kB: take it smaller", len(data)/1000, MostPhoto/1000)
	case bytes.HasPrefix(data, []byte("\xff\xd8\xff")):
		return "image/jpeg", nil
	case bytes.HasPrefix(data, []byte("\x89PNG\r\n\x1a\n")):
		return "image/png", nil
	case len(data) >= 12 && bytes.HasPrefix(data, []byte("RIFF")) && bytes.Equal(data[8:12], []byte("WEBP")):
		return "image/webp", nil
	}
	return "", errors.New("the picture is neither JPEG nor PNG nor WebP; expected one of these")
}
