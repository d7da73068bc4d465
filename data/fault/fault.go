// Package fault holds the error that every reader and checker of user input
// returns, so that one place can turn it into an exit code or an HTTP status.
package fault

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"regexp"
	"strconv"
	"strings"
	"syscall"

	"ampleway/data/wording"
)

// Input says what is wrong with something the user gave: in which file, where
// in it, which field, what was found and what was expected. Empty parts are
// left out of the message.
type Input struct {
	File     string // file name, option name, or "-" for standard input
	Where    string // "line 12", "row 3", "feature 2", "byte 301"
	Field    string // column, key or element
	Found    string // what stands there
	Expected string // what would have been right, in words
	Err      error  // an underlying error, or nil
}

// Error gives the message on one line, and what the underlying error shows of
// the file on further lines.
func (e *Input) Error() string {
	var parts []string
	for _, p := range []string{e.File, e.Where, e.Field} {
		if p != "" {
			parts = append(parts, p)
		}
	}
	text := strings.Join(parts, ", ")
	if e.Found != "" {
		text += fmt.Sprintf(": found %s", clip(e.Found))
	}
	if e.Expected != "" {
		text += ": expected " + e.Expected
	}
	if e.Err != nil {
		shown := Reason(e.Err)
		if e.File == "" && errors.As(e.Err, new(*fs.PathError)) {
			shown = e.Err.Error()
		}
		if !strings.HasPrefix(shown, "\n") {
			shown = " " + shown
		}
		text += ":" + shown
	}
	return strings.TrimPrefix(text, ": ")
}

// badCharacter is how encoding/json names what it did not expect.
var badCharacter = regexp.MustCompile(`^invalid character '(.+?)' `)

// Reason is what an error of the standard library means to who gave the file;
// what was said around it stays.
func Reason(err error) string {
	meaning, inner := meaningOf(err)
	if inner == nil {
		return err.Error()
	}
	return strings.Replace(err.Error(), inner.Error(), meaning, 1)
}

// meaningOf finds what is to be said otherwise, and the error that says it.
func meaningOf(err error) (meaning string, inner error) {
	var path *fs.PathError
	var number *strconv.NumError
	var syntax *json.SyntaxError
	var wrong *json.UnmarshalTypeError
	isPath := errors.As(err, &path)
	switch {
	case isPath && errors.Is(path, syscall.EISDIR):
		return "it is a folder", path
	case isPath:
		return path.Err.Error(), path
	case errors.Is(err, io.ErrUnexpectedEOF):
		return "the file ends too early", io.ErrUnexpectedEOF
	case errors.As(err, &number):
		return number.Err.Error(), number
	case errors.As(err, &syntax):
		return jsonMeaning(syntax), syntax
	case errors.As(err, &wrong):
		return strings.TrimSpace(wrong.Field + " cannot be a JSON " + wrong.Value), wrong
	}
	return "", nil
}

func jsonMeaning(syntax *json.SyntaxError) string {
	if strings.HasSuffix(syntax.Error(), "exceeded max depth") {
		return "lists and objects are nested too deeply"
	}
	if bad := badCharacter.FindStringSubmatch(syntax.Error()); bad != nil {
		return "the character " + bad[1] + " cannot stand there"
	}
	return "the file ends too early"
}

// Unwrap gives the underlying error.
func (e *Input) Unwrap() error { return e.Err }

func clip(s string) string {
	const most = 80
	s = wording.Plain(s)
	if runes := []rune(s); len(runes) > most {
		return string(runes[:most]) + "…"
	}
	return s
}
