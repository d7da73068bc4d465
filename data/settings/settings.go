// Package settings decodes the small files that people write by hand, in YAML
// or its subset JSON: a car, a household, a study, a column map. What does not
// fit is told in the words of the file, never in those of the program.
package settings

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"ampleway/data/fault"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/token"
)

// MostBytes bounds a file.
const MostBytes = 1 << 20

// ErrEmpty is wrapped by the error for a file without content.
var ErrEmpty = errors.New("the file is empty")

// Read reads a file of at most MostBytes and decodes it as [Decode] does. What
// cannot be read (a folder) is a *fault.Input that wraps the error of r.
func Read(r io.Reader, name, kind string, to any) error {
	text, err := io.ReadAll(io.LimitReader(r, MostBytes+1))
	if err != nil {
		return &fault.Input{File: name, Expected: kind, Err: err}
	}
	return Decode(text, name, kind, to)
}

// Decode fills to, a pointer to a struct whose yaml tags are the keys, from
// text. Unknown keys, doubled keys and values of another kind are errors, each
// a *fault.Input with the line, the key, what stands there and what was
// expected; so is a fraction where a whole number belongs. name is the file's,
// kind says what it should be ("a car file in YAML or JSON").
func Decode(text []byte, name, kind string, to any) (err error) {
	if len(text) > MostBytes {
		return &fault.Input{File: name, Found: "more than 1 MiB", Expected: kind + " of at most 1 MiB"}
	}
	if !utf8.Valid(text) {
		return &fault.Input{File: name, Found: "bytes that are no text in UTF-8", Expected: kind}
	}
	if err := checkShape(text, name, kind); err != nil {
		return err
	}
	// The library panics on some broken files (v1.19.2, a tag on a sequence
	// that is none).
	defer func() {
		if broken := recover(); broken != nil {
			err = &fault.Input{File: name, Expected: kind, Err: fmt.Errorf("broken YAML: %v", broken)}
		}
	}()
	err = yaml.NewDecoder(bytes.NewReader(text), yaml.Strict()).Decode(to)
	if err == nil {
		err = checkWhole(text, reflect.TypeOf(to))
	}
	if err != nil {
		return explain(err, text, name, kind)
	}
	return nil
}

func explain(err error, text []byte, name, kind string) *fault.Input {
	in := &fault.Input{File: name, Expected: kind}
	if errors.Is(err, io.EOF) {
		in.Err = ErrEmpty
		return in
	}
	var located yaml.Error
	if !errors.As(err, &located) {
		in.Err = err
		return in
	}
	at := located.GetToken()
	if at == nil || at.Position == nil {
		in.Err = errors.New(plain(located.GetMessage()))
		return in
	}
	in.Where = "line " + strconv.Itoa(at.Position.Line)
	if Showable(text) {
		in.Err = excerpt(at)
	} else {
		in.Where += ", column " + strconv.Itoa(at.Position.Column)
	}
	var wrongType *yaml.TypeError
	var tooLarge *yaml.OverflowError
	var unknown *yaml.UnknownFieldError
	var wrongNode *yaml.UnexpectedNodeTypeError
	switch {
	case errors.As(err, &wrongType):
		in.Field, in.Found, in.Expected = keyOf(at), found(at), InWords(wrongType.DstType)
	case errors.As(err, &tooLarge):
		in.Field, in.Found, in.Expected = keyOf(at), at.Value, "a smaller number"
	case errors.As(err, &unknown):
		in.Field, in.Expected = at.Value, "a known key of "+kind
	case errors.As(err, &wrongNode):
		in.Field, in.Found, in.Expected = keyOf(at), found(at), nodeWords[wrongNode.Expected.YAMLName()]
	default:
		shown := in.Err
		if in.Err = errors.New(plain(located.GetMessage())); shown != nil {
			in.Err = fmt.Errorf("%w%w", in.Err, shown)
		}
	}
	return in
}

// found is what stands at a token.
func found(at *token.Token) string {
	switch at.Type {
	case token.MappingStartType:
		return nodeWords["mapping"]
	case token.SequenceStartType, token.SequenceEntryType:
		return nodeWords["sequence"]
	}
	return at.Value
}

// libraryWords are the library's messages about its own tokens (v1.19.2), as
// expressions, and what they mean for the file.
var libraryWords = []struct {
	message *regexp.Regexp
	meaning string
}{
	{regexp.MustCompile(`^mapping key (".*") already defined at \[(\d+):\d+\]$`), "the key $1 stands in line $2 as well"},
	{regexp.MustCompile(`^(could not find (map value|value for mapping key|flow map content)|undefined map key)$`), "a key without its value"},
	{regexp.MustCompile(`^(sequence end token '\]' not found|',' or '\]' must be specified)$`), "a list that is not closed by ], or a comma missing in it"},
	{regexp.MustCompile(`^(could not find flow mapping end token '}'|',' or '}' must be specified)$`), "braces that are not closed by }, or a comma missing in them"},
	{regexp.MustCompile(`^found character '\t' that cannot start any token$`), "a tab; lines are indented by spaces"},
	{regexp.MustCompile(`^could not find alias "(.*)"$`), "*$1 stands for nothing in the file"},
	{regexp.MustCompile(`^could not find end character of (single|double)-quoted text$`), "a quote that is not closed"},
	{regexp.MustCompile(`^non-map value is specified$`), "text where a key with a value belongs"},
	{regexp.MustCompile(`^unexpected key name$`), "a key where none belongs"},
	{regexp.MustCompile(`^(value|mapping value) is not allowed in this context.*$`), "a value where none belongs"},
}

func plain(message string) string {
	for _, w := range libraryWords {
		if w.message.MatchString(message) {
			return w.message.ReplaceAllString(message, w.meaning)
		}
	}
	return message
}

// excerpt shows the lines around a place, with a mark under it.
func excerpt(at *token.Token) error {
	_, lines, _ := strings.Cut(yaml.FormatErrorWithToken("", at, false, true), "\n")
	return errors.New("\n" + lines)
}

// keyOf is the key whose value stands at a token, if it stands right behind it.
func keyOf(at *token.Token) string {
	if colon := at.Prev; colon != nil && colon.Type == token.MappingValueType && colon.Prev != nil {
		return colon.Prev.Value
	}
	return ""
}

// nodeWords says what was wanted where the kind of node is wrong.
var nodeWords = map[string]string{
	"sequence": "a list",
	"mapping":  "keys with values",
}

// InWords says what a value of a type is written as.
func InWords(t reflect.Type) string {
	switch t.Kind() {
	case reflect.Bool:
		return "true or false"
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		return "a whole number"
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		return "a whole number that is not negative"
	case reflect.Float32, reflect.Float64:
		return "a number"
	case reflect.Slice, reflect.Array:
		return "a list"
	case reflect.Struct, reflect.Map:
		return "keys with values"
	case reflect.Pointer:
		return InWords(t.Elem())
	default:
		return "text"
	}
}
