package open

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"

	"ampleway/data/fault"
)

// splitter walks over a JSON text and hands out the values that are records,
// one at a time, within the limits on size and depth. It checks the outer
// structure; each record is checked by whoever decodes it.
type splitter struct {
	in     *bufio.Reader
	limits Limits
	line   int // of the next byte
	buf    []byte
}

// member is one name of the outermost object with its value as it stands.
type member struct {
	value []byte
	line  int
}

func newSplitter(in *bufio.Reader, l Limits) *splitter {
	return &splitter{in: in, limits: l, line: 1}
}

// peek skips white space and returns the next byte without taking it, 0 at the
// end.
func (s *splitter) peek() (byte, error) {
	for {
		b, err := s.in.ReadByte()
		switch {
		case err == io.EOF:
			return 0, nil
		case err != nil:
			return 0, err
		case b == '\n':
			s.line++
		case b != ' ' && b != '\t' && b != '\r':
			return b, s.in.UnreadByte()
		}
	}
}

func (s *splitter) expect(want byte) error {
	b, err := s.peek()
	if err != nil {
		return err
	}
	if b != want {
		return s.broken(b, fmt.Sprintf("%q", want))
	}
	_, err = s.in.ReadByte()
	return err
}

func (s *splitter) broken(found byte, expected string) error {
	text := fmt.Sprintf("%q", found)
	if found == 0 {
		text = "the end of the file"
	}
	return &fault.Input{Where: fmt.Sprintf("line %d", s.line), Found: text, Expected: expected, Err: ErrSyntax}
}

// list hands out the values of the list that begins here.
func (s *splitter) list(visit func(raw []byte, line int) error) error {
	if err := s.expect('['); err != nil {
		return err
	}
	for first := true; ; first = false {
		b, err := s.peek()
		switch {
		case err != nil:
			return err
		case b == ']' && first:
			return s.expect(']')
		}
		line := s.line
		raw, err := s.value()
		if err != nil {
			return err
		}
		if err := visit(raw, line); err != nil {
			return err
		}
		if b, err = s.peek(); err != nil {
			return err
		}
		if b == ']' {
			return s.expect(']')
		}
		if b != ',' {
			return s.broken(b, `"," or "]" after a value of the list`)
		}
		if err := s.expect(','); err != nil {
			return err
		}
	}
}

// object walks over the object that begins here. Where take says that it has
// read a member's value itself, that is not among the members returned.
func (s *splitter) object(take func(name string) (bool, error)) (map[string]member, error) {
	if err := s.expect('{'); err != nil {
		return nil, err
	}
	members := map[string]member{}
	size := 0
	for first := true; ; first = false {
		b, err := s.peek()
		if err != nil {
			return nil, err
		}
		if b == '}' && first {
			return members, s.expect('}')
		}
		if b != '"' {
			return nil, s.broken(b, "a name in double quotes")
		}
		raw, err := s.value()
		if err != nil {
			return nil, err
		}
		var name string
		if err := json.Unmarshal(raw, &name); err != nil {
			return nil, s.broken(b, "a name in double quotes")
		}
		if err := s.expect(':'); err != nil {
			return nil, err
		}
		taken, err := take(name)
		if err != nil {
			return nil, err
		}
		if !taken {
			line := s.line
			if raw, err = s.value(); err != nil {
				return nil, err
			}
			if size += len(raw) + len(name); size > s.limits.RecordBytes {
				return nil, s.tooLong()
			}
			members[name] = member{bytes.Clone(raw), line}
		}
		if b, err = s.peek(); err != nil {
			return nil, err
		}
		if b == '}' {
			return members, s.expect('}')
		}
		if b != ',' {
			return nil, s.broken(b, `"," or "}" after a value of the object`)
		}
		if err := s.expect(','); err != nil {
			return nil, err
		}
	}
}

func (s *splitter) tooLong() error {
	return &fault.Input{Where: fmt.Sprintf("line %d", s.line), Expected: fmt.Sprintf("a record of at most %d bytes", s.limits.RecordBytes), Err: ErrRecordTooLong}
}

// value reads one whole value as it stands; the bytes are good until the next
// call.
func (s *splitter) value() ([]byte, error) {
	b, err := s.peek()
	if err != nil {
		return nil, err
	}
	s.buf = s.buf[:0]
	switch b {
	case 0:
		return nil, s.broken(0, "a value")
	case '{', '[':
		err = s.nested()
	case '"':
		err = s.quoted()
	case ']', '}', ',', ':':
		return nil, s.broken(b, "a value")
	default:
		err = s.scalar()
	}
	return s.buf, err
}

// nested reads a value from its opening bracket to the one that closes it.
func (s *splitter) nested() error {
	depth := 0
	inside, escaped := false, false // of a string; behind a backslash
	for {
		chunk, err := s.chunk()
		if err != nil {
			return err
		}
		for i, b := range chunk {
			switch {
			case b == '\n':
				s.line++
			case escaped:
				escaped = false
				continue
			case inside:
				escaped = b == '\\'
				inside = b != '"'
				continue
			}
			switch b {
			case '"':
				inside = true
			case '{', '[':
				if depth++; depth > s.limits.Depth {
					return &fault.Input{Where: fmt.Sprintf("line %d", s.line), Expected: fmt.Sprintf("values nested at most %d deep", s.limits.Depth), Err: ErrTooDeep}
				}
			case '}', ']':
				if depth--; depth == 0 {
					return s.take(chunk[:i+1])
				}
			}
		}
		if err := s.take(chunk); err != nil {
			return err
		}
	}
}

func (s *splitter) quoted() error {
	opened, escaped := false, false
	for {
		chunk, err := s.chunk()
		if err != nil {
			return err
		}
		for i, b := range chunk {
			switch {
			case escaped:
				escaped = false
			case b == '\\':
				escaped = true
			case b == '"' && opened:
				return s.take(chunk[:i+1])
			case b == '"':
				opened = true
			case b == '\n':
				return s.broken(b, "a string that ends on its line")
			}
		}
		if err := s.take(chunk); err != nil {
			return err
		}
	}
}

func (s *splitter) scalar() error {
	for {
		b, err := s.in.ReadByte()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		switch b {
		case ' ', '\t', '\r', '\n', ',', ']', '}', ':':
			return s.in.UnreadByte()
		}
		if s.buf = append(s.buf, b); len(s.buf) > s.limits.RecordBytes {
			return s.tooLong()
		}
	}
}

// chunk shows what is buffered, at least one byte.
func (s *splitter) chunk() ([]byte, error) {
	if _, err := s.in.Peek(1); err == io.EOF {
		return nil, s.broken(0, "the rest of a value")
	} else if err != nil {
		return nil, err
	}
	return s.in.Peek(s.in.Buffered())
}

func (s *splitter) take(chunk []byte) error {
	if len(s.buf)+len(chunk) > s.limits.RecordBytes {
		return s.tooLong()
	}
	s.buf = append(s.buf, chunk...)
	_, err := s.in.Discard(len(chunk))
	return err
}
