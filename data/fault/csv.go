package fault

import (
	"encoding/csv"
	"errors"
	"io"
	"strconv"
)

// CSV says where a reader of encoding/csv found no table.
func CSV(file string, err error) *Input {
	out := &Input{File: file, Expected: "a CSV table with a header", Err: err}
	var parse *csv.ParseError
	switch {
	case errors.As(err, &parse):
		out.Where, out.Err = "line "+strconv.Itoa(parse.Line), parse.Err
		if errors.Is(err, csv.ErrQuote) || errors.Is(err, csv.ErrBareQuote) {
			out.Err = errors.New("a quote that is stray or missing")
		}
	case errors.Is(err, io.EOF):
		out.Err = errors.New("the file is empty")
	}
	return out
}
