package read

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"

	"golang.org/x/text/encoding/htmlindex"

	"ampleway/data/fault"
)

// maxXMLDepth bounds nesting; GPX itself needs 5 levels, extensions a few
// more.
const maxXMLDepth = 64

// xmlReader goes down through the elements of a document. Each of children,
// text and skip starts behind a start element and stops behind its end.
type xmlReader struct {
	decoder *xml.Decoder
	depth   int
}

func newXMLReader(text []byte) *xmlReader {
	d := xml.NewDecoder(bytes.NewReader(text))
	d.CharsetReader = charset
	return &xmlReader{decoder: d}
}

// charset gives the text of a file that declares another encoding. UTF-16
// has been brought into UTF-8 before.
func charset(label string, input io.Reader) (io.Reader, error) {
	if strings.HasPrefix(strings.ToLower(label), "utf-16") {
		return input, nil
	}
	enc, err := htmlindex.Get(label)
	if err != nil {
		return nil, fmt.Errorf("the encoding %q is not known", label)
	}
	return enc.NewDecoder().Reader(input), nil
}

// located adds the line that was read last to an error without a place.
func (x *xmlReader) located(err *fault.Input) *fault.Input {
	if err.Where == "" {
		line, _ := x.decoder.InputPos()
		err.Where = fmt.Sprintf("line %d", line)
	}
	return err
}

// root returns the first element.
func (x *xmlReader) root() (xml.StartElement, *fault.Input) {
	for {
		token, err := x.token()
		if err != nil {
			return xml.StartElement{}, err
		}
		switch t := token.(type) {
		case xml.StartElement:
			return t, nil
		case nil:
			return xml.StartElement{}, &fault.Input{Found: "no element", Expected: "GPX, with the root element <gpx>"}
		}
	}
}

// children calls on for each child element; on must read the child to its
// end.
func (x *xmlReader) children(on func(xml.StartElement) *fault.Input) *fault.Input {
	for {
		token, err := x.token()
		if err != nil {
			return err
		}
		switch t := token.(type) {
		case xml.StartElement:
			if err := on(t); err != nil {
				return err
			}
		case xml.EndElement:
			return nil
		}
	}
}

// skip passes over an element and all in it.
func (x *xmlReader) skip() *fault.Input {
	for outside := x.depth - 1; x.depth > outside; {
		if _, err := x.token(); err != nil {
			return err
		}
	}
	return nil
}

// text stores the text of an element, without that of elements in it and
// without blanks at its ends.
func (x *xmlReader) text(into *string) *fault.Input {
	const most = 1000
	var text []byte
	for {
		token, err := x.token()
		if err != nil {
			return err
		}
		switch t := token.(type) {
		case xml.CharData:
			text = append(text, t[:min(len(t), most-min(len(text), most))]...)
		case xml.StartElement:
			if err := x.skip(); err != nil {
				return err
			}
		case xml.EndElement:
			*into = strings.ToValidUTF8(strings.TrimSpace(string(text)), "")
			return nil
		}
	}
}

// end makes sure that nothing but blanks and comments follows the root.
func (x *xmlReader) end() *fault.Input {
	for {
		token, err := x.token()
		if err != nil || token == nil {
			return err
		}
		if t, ok := token.(xml.StartElement); ok {
			return &fault.Input{Found: "<" + t.Name.Local + "> after the root element", Expected: "one root element"}
		}
	}
}

// token returns the next token, or nil at the end of a complete document.
func (x *xmlReader) token() (xml.Token, *fault.Input) {
	token, err := x.decoder.Token()
	if err == io.EOF {
		return nil, nil
	}
	if err != nil {
		return nil, xmlFault(err)
	}
	switch t := token.(type) {
	case xml.StartElement:
		if x.depth++; x.depth > maxXMLDepth {
			return nil, &fault.Input{Found: "elements inside elements", Expected: fmt.Sprintf("at most %d levels", maxXMLDepth)}
		}
	case xml.EndElement:
		x.depth--
	case xml.Directive:
		return t, directive(t)
	}
	return token, nil
}

func xmlFault(err error) *fault.Input {
	in := &fault.Input{Expected: "well-formed XML", Err: err}
	var syntax *xml.SyntaxError
	if errors.As(err, &syntax) {
		in.Where = fmt.Sprintf("line %d", syntax.Line)
		in.Err = errors.New(syntax.Msg)
		if syntax.Msg == "unexpected EOF" {
			in.Expected, in.Err = "a complete file", errors.New("it ends in the middle of an element")
		}
	}
	return in
}

// directive rejects documents that declare entities, which GPX does not need
// and which can make a small file grow without bound.
func directive(d xml.Directive) *fault.Input {
	upper := strings.ToUpper(string(d))
	if strings.Contains(upper, "<!ENTITY") {
		return &fault.Input{Field: "DOCTYPE", Found: "an entity declaration", Expected: "a file without entity declarations"}
	}
	if strings.HasPrefix(upper, "DOCTYPE HTML") {
		return &fault.Input{Found: "a web page", Expected: "GPX, with the root element <gpx>"}
	}
	return nil
}
