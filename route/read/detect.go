package read

import (
	"bytes"
	"fmt"
	"unicode/utf8"

	"golang.org/x/text/encoding/unicode"

	"ampleway/data/fault"
)

const expectedFormats = "GPX, GeoJSON or an encoded polyline"

// signatures are the first bytes of files that are often taken for a route,
// with what to do about them.
var signatures = []struct {
	start, is string
}{
	{"\x1f\x8b", "a gzip archive (unpack it first)"},
	{"PK\x03\x04", "a zip archive (unpack it first)"},
	{"%PDF", "a PDF document"},
	{"\x89PNG", "a picture"},
	{"\xff\xd8\xff", "a picture"},
	{"\x00\x00\xfe\xff", "UTF-32 text (save it as UTF-8)"},
	{"\xff\xfe\x00\x00", "UTF-32 text (save it as UTF-8)"},
}

// decode brings text into UTF-8 without a byte-order mark. UTF-16 is told by
// its mark, or by a zero byte beside the first character.
func decode(raw []byte) ([]byte, *fault.Input) {
	for _, s := range signatures {
		if bytes.HasPrefix(raw, []byte(s.start)) {
			return nil, &fault.Input{Found: s.is, Expected: expectedFormats}
		}
	}
	var endian unicode.Endianness
	switch {
	case bytes.HasPrefix(raw, []byte("\xfe\xff")), len(raw) > 1 && raw[0] == 0 && raw[1] != 0:
		endian = unicode.BigEndian
	case bytes.HasPrefix(raw, []byte("\xff\xfe")), len(raw) > 1 && raw[0] != 0 && raw[1] == 0:
		endian = unicode.LittleEndian
	default:
		return bytes.TrimPrefix(raw, []byte("\xef\xbb\xbf")), nil
	}
	text, err := unicode.UTF16(endian, unicode.UseBOM).NewDecoder().Bytes(raw)
	if err != nil {
		text, err = unicode.UTF16(endian, unicode.IgnoreBOM).NewDecoder().Bytes(raw)
	}
	if err != nil {
		return nil, &fault.Input{Field: "encoding", Expected: "UTF-8 or UTF-16 text", Err: err}
	}
	return text, nil
}

// detect tells the format from the first characters. Letters of an encoded
// polyline are '?' to '~'; '<', digits and quotation marks are not among
// them, but '{' and '[' are.
func detect(text []byte) (Format, *fault.Input) {
	trimmed := bytes.TrimSpace(text)
	if len(trimmed) == 0 {
		return Detect, &fault.Input{Found: "an empty file", Expected: expectedFormats}
	}
	switch {
	case trimmed[0] == '<':
		return GPX, nil
	case trimmed[0] == '"':
		return Polyline5, nil
	case trimmed[0] == '{' && startsObject(trimmed[1:]):
		return GeoJSON, nil
	case trimmed[0] == '[' && bytes.ContainsAny(trimmed, "0123456789\"{,"):
		return Detect, &fault.Input{Found: "a JSON list", Expected: `a GeoJSON object such as {"type": "LineString", ...}`}
	}
	if _, at := strangeByte(trimmed); at < 0 {
		return Polyline5, nil
	}
	return Detect, &fault.Input{Found: firstOf(trimmed), Expected: expectedFormats}
}

func startsObject(rest []byte) bool {
	rest = bytes.TrimSpace(rest)
	return len(rest) == 0 || rest[0] == '"' || rest[0] == '}'
}

// firstOf shows the beginning of a text that may be binary.
func firstOf(text []byte) string {
	const most = 24
	if len(text) > most {
		text = text[:most]
	}
	if utf8.Valid(text) {
		return string(text)
	}
	return fmt.Sprintf("bytes % x", text)
}
