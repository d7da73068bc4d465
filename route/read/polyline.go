package read

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"

	"github.com/twpayne/go-polyline"

	"ampleway/data/fault"
)

// readPolyline reads encoded polylines, one a line of text; a line may stand
// in quotation marks, and is then read as a JSON string, with its escapes.
//
// The precision is not written in the data. Where it is to be found, every
// line is taken with 5 decimals if that gives positions on the earth, else
// with 6, which makes the numbers ten times smaller.
func (f *file) readPolyline(text []byte, format Format, find bool) *fault.Input {
	lines, err := polylines(text)
	if err != nil {
		return err
	}
	if !find {
		return f.addPolylines(lines, format)
	}
	err = f.addPolylines(lines, Polyline5)
	if err == nil {
		f.note("Read as an encoded polyline with 5 decimals, the usual number; with 6 the line would be a tenth of the size, near 0, 0.")
		return nil
	}
	if err.Field != "latitude" && err.Field != "longitude" {
		return err
	}
	f.parts, f.points = nil, 0
	if with6 := f.addPolylines(lines, Polyline6); with6 != nil {
		with6.Expected += " with 5 or with 6 decimals"
		return with6
	}
	f.note("Read as an encoded polyline with 6 decimals, as with 5 it would leave the earth.")
	return nil
}

func (f *file) addPolylines(lines []encoded, format Format) *fault.Input {
	scale := 1e5
	if format == Polyline6 {
		scale = 1e6
	}
	for _, line := range lines {
		where := fmt.Sprintf("line %d", line.number)
		latLon, _, decodeErr := polyline.Codec{Dim: 2, Scale: scale}.DecodeFlatCoords(nil, line.text)
		if decodeErr != nil {
			return &fault.Input{Where: where, Expected: "a complete encoded polyline", Err: polylineError(decodeErr)}
		}
		if err := f.count(len(latLon) / 2); err != nil {
			err.Where = where
			return err
		}
		p := part{place: where, samples: make([]sample, 0, len(latLon)/2)}
		for i := 0; i < len(latLon); i += 2 {
			s, err := position(latLon[i+1], latLon[i])
			if err == nil && math.Abs(latLon[i+1]) > 180 {
				err = &fault.Input{Field: "longitude", Found: number(latLon[i+1]), Expected: "degrees within ±180"}
			}
			if err != nil {
				err.Where = fmt.Sprintf("%s, position %d", where, i/2+1)
				return err
			}
			p.samples = append(p.samples, s)
		}
		f.parts = append(f.parts, p)
	}
	return nil
}

func polylineError(err error) error {
	switch {
	case errors.Is(err, polyline.ErrUnterminatedSequence), errors.Is(err, polyline.ErrEmpty):
		return errors.New("it ends in the middle of a number")
	case errors.Is(err, polyline.ErrOverflow):
		return errors.New("it holds a number too large for a position")
	}
	return err
}

// encoded is one polyline and the line of text it stands on.
type encoded struct {
	number int
	text   []byte
}

func polylines(text []byte) ([]encoded, *fault.Input) {
	var lines []encoded
	for i, line := range bytes.Split(text, []byte("\n")) {
		line = bytes.TrimSpace(line)
		if len(line) == 0 {
			continue
		}
		where := fmt.Sprintf("line %d", i+1)
		if line[0] == '"' {
			var unquoted string
			if err := json.Unmarshal(line, &unquoted); err != nil {
				return nil, &fault.Input{Where: where, Expected: "an encoded polyline in quotation marks", Err: err}
			}
			line = []byte(unquoted)
		}
		if b, at := strangeByte(line); at >= 0 {
			return nil, &fault.Input{
				Where:    fmt.Sprintf("%s, byte %d", where, at+1),
				Found:    fmt.Sprintf("%q", b),
				Expected: "the characters '?' to '~' of an encoded polyline",
			}
		}
		lines = append(lines, encoded{number: i + 1, text: line})
	}
	return lines, nil
}

// strangeByte finds the first byte that no encoded polyline has, apart from
// line ends and blanks at the ends of a line.
func strangeByte(text []byte) (b byte, at int) {
	for i, b := range text {
		if (b < '?' || b > '~') && b != '\n' && b != '\r' {
			return b, i
		}
	}
	return 0, -1
}
