package energy

import (
	"bytes"
	"errors"
	"io"
	"strconv"

	"github.com/goccy/go-yaml"

	"ampleway/data/fault"
	"ampleway/data/settings"
)

// ReadCar reads a car from YAML or JSON. The name is that of the file, for
// errors. Unknown keys are refused. What the file may leave out gets the
// default named in DefaultDriveEfficiency and its neighbours.
//
// The error is a *fault.Input that shows the line and a caret, or the key
// whose value is out of range.
func ReadCar(r io.Reader, name string) (*Car, error) {
	text, err := io.ReadAll(io.LimitReader(r, settings.MostBytes+1))
	if err != nil {
		return nil, &fault.Input{File: name, Expected: "a car file that can be read", Err: err}
	}
	var f carFile
	if err := settings.Decode(text, name, "a car file in YAML or JSON", &f); err != nil {
		return nil, err
	}
	if m := f.check(); m != nil {
		return nil, m.in(name, text)
	}
	return f.car(), nil
}

// misfit is a value that a car cannot have.
type misfit struct {
	path     string // YAML path, "$.dc_taper[2].soc_pct"
	found    string
	expected string
}

func (m *misfit) in(name string, text []byte) error {
	out := &fault.Input{File: name, Field: m.path[2:], Found: m.found, Expected: m.expected}
	path, err := yaml.PathString(m.path)
	if err != nil {
		return out
	}
	if node, err := path.ReadNode(bytes.NewReader(text)); err == nil {
		out.Where = "line " + strconv.Itoa(node.GetToken().Position.Line)
	}
	if !settings.Showable(text) {
		return out
	}
	if shown, err := path.AnnotateSource(text, false); err == nil {
		out.Err = errors.New("\n" + string(shown))
	}
	return out
}
