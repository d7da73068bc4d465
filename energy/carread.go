package energy

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strconv"

	"github.com/goccy/go-yaml"

	"ampleway/data/fault"
)

// carFileLimit is the most a car file may hold, in bytes.
const carFileLimit = 1 << 20

// ReadCar reads a car from YAML or JSON. The name is that of the file, for
// errors. Unknown keys are refused. What the file may leave out gets the
// default named in DefaultDriveEfficiency and its neighbours.
//
// The error is a *fault.Input that shows the line and a caret, or the key
// whose value is out of range.
func ReadCar(r io.Reader, name string) (*Car, error) {
	text, err := io.ReadAll(io.LimitReader(r, carFileLimit+1))
	if err != nil {
		return nil, err
	}
	if len(text) > carFileLimit {
		return nil, &fault.Input{File: name, Expected: "a car file of at most 1 MiB"}
	}
	return parseCar(text, name)
}

// parseCar stops the panics of the YAML library, which come with some broken
// files (v1.19.2, a sequence that is no sequence).
func parseCar(text []byte, name string) (car *Car, err error) {
	defer func() {
		if broken := recover(); broken != nil {
			car, err = nil, decodeFault(name, fmt.Errorf("broken YAML: %v", broken))
		}
	}()
	var f carFile
	if err := yaml.NewDecoder(bytes.NewReader(text), yaml.Strict()).Decode(&f); err != nil {
		return nil, decodeFault(name, err)
	}
	if m := f.check(); m != nil {
		return nil, m.in(name, text)
	}
	return f.car(), nil
}

func decodeFault(name string, err error) error {
	in := &fault.Input{File: name, Expected: "a car file in YAML or JSON", Err: err}
	if errors.Is(err, io.EOF) {
		in.Err = errors.New("the file is empty")
		return in
	}
	var syntax yaml.Error
	if errors.As(err, &syntax) {
		if token := syntax.GetToken(); token != nil && token.Position != nil {
			in.Where = "line " + strconv.Itoa(token.Position.Line)
		}
		in.Err = errors.New(yaml.FormatError(err, false, true))
	}
	return in
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
	if shown, err := path.AnnotateSource(text, false); err == nil {
		out.Err = errors.New("\n" + string(shown))
	}
	return out
}
