package open

import (
	"errors"
	"fmt"
	"io"

	"ampleway/data/fault"
)

// The limits that can be passed and the other reasons why a whole file is
// refused. Read returns them wrapped in a *fault.Input.
var (
	ErrRecordTooLong = errors.New("record too long")
	ErrTooDeep       = errors.New("nested too deeply")
	ErrTooMany       = errors.New("too many records")
	ErrRatio         = errors.New("decompresses to too much")
	ErrSyntax        = errors.New("broken syntax")
	ErrEncoding      = errors.New("unreadable text encoding")
	ErrUnknownFormat = errors.New("unknown format")
	ErrNothingUsable = errors.New("nothing usable")
)

// Limits bound what a file may cost. Zeros mean the defaults.
type Limits struct {
	RecordBytes int // longest record; 0 = 4 MiB
	Records     int // most records, and most stalls of all sites; 0 = 5,000,000
	Depth       int // deepest nesting of JSON or XML; 0 = 64
	Ratio       int // most decompressed bytes per compressed byte, beyond the first 64 MiB; 0 = 250
	Positions   int // most node positions kept for OpenStreetMap ways, 16 bytes each; 0 = 16,000,000
	Listed      int // most rejected records and most suspects kept in the report, which counts them all; 0 = 1,000
}

func (l Limits) withDefaults() Limits {
	set := func(field *int, value int) {
		if *field <= 0 {
			*field = value
		}
	}
	set(&l.RecordBytes, 4<<20)
	set(&l.Records, 5_000_000)
	set(&l.Depth, 64)
	set(&l.Ratio, 250)
	set(&l.Positions, 16_000_000)
	set(&l.Listed, 1000)
	return l
}

// freeBytes may come out of a compressed file at any ratio.
const freeBytes = 64 << 20

// meter counts what passes.
type meter struct {
	r io.Reader
	n int64
}

func (m *meter) Read(p []byte) (int, error) {
	n, err := m.r.Read(p)
	m.n += int64(n)
	return n, err
}

// ratioGuard stops a stream that decompresses to too much.
type ratioGuard struct {
	plain  io.Reader
	packed *meter
	n      int64
	limit  int64
	name   string
}

func (g *ratioGuard) Read(p []byte) (int, error) {
	n, err := g.plain.Read(p)
	g.n += int64(n)
	if g.n > freeBytes && g.n > g.limit*g.packed.n {
		return n, &fault.Input{File: g.name, Where: fmt.Sprintf("byte %d", g.packed.n), Expected: fmt.Sprintf("at most %d bytes out of each compressed one", g.limit), Err: ErrRatio}
	}
	return n, err
}

// recordGuard stops a stream whose reader takes too much for one record. What
// the reader buffers ahead counts too, so the limit is met within a buffer.
type recordGuard struct {
	r     io.Reader
	n     int
	limit int
	fail  func() error
}

func (g *recordGuard) Read(p []byte) (int, error) {
	if g.n > g.limit {
		return 0, g.fail()
	}
	n, err := g.r.Read(p)
	g.n += n
	return n, err
}

func (g *recordGuard) next() { g.n = 0 }
