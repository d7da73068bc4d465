package snapshot

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
)

// The Parquet decoder makes room for as much as a file says it holds before it
// looks. sound goes through the footer and the head of every page first and
// refuses what cannot be: lengths beyond the file, pages that unpack to too
// much, columns of more values than sites can have. Field numbers are those of
// the format's parquet.thrift.

const (
	maxFooterBytes = 64 << 20
	maxPageBytes   = 64 << 20 // unpacked
	maxUnpacked    = 2 << 30  // of all pages together
	maxPages       = 1 << 20
	maxThrift      = 1 << 20  // values in the footer or the head of a page
	pageHeadBytes  = 1 << 10  // enough for most heads
	longHeadBytes  = 64 << 10 // enough for nearly any: a head may hold two values for statistics
)

var errUnsound = errors.New("the file is broken")

func sound(r io.ReaderAt, size int64) error {
	footer, err := readFooter(r, size)
	if err != nil {
		return err
	}
	parsed, _, err := parseStruct(footer)
	if err != nil {
		return fmt.Errorf("footer: %w", err)
	}
	whole := extent{head: make([]byte, longHeadBytes)}
	for _, group := range parsed.field(4).list {
		for column, chunk := range group.field(1).list {
			if err := whole.add(r, size, column, chunk.field(3)); err != nil {
				return err
			}
		}
	}
	return nil
}

// extent is how much the pages of a file hold.
type extent struct {
	head     []byte // to read into
	pages    int
	unpacked int64
	values   []int64 // of each column, dictionaries apart
}

func (e *extent) check(column int) error {
	switch {
	case e.pages > maxPages:
		return fmt.Errorf("more than %d pages: %w", maxPages, errUnsound)
	case e.unpacked > maxUnpacked:
		return fmt.Errorf("the file unpacks to more than %d bytes", int64(maxUnpacked))
	case e.values[column] > MaxSites:
		return fmt.Errorf("a column of more than %d values", MaxSites)
	}
	return nil
}

func readFooter(r io.ReaderAt, size int64) ([]byte, error) {
	var tail [8]byte
	if size < int64(len(tail))+4 {
		return nil, fmt.Errorf("%d bytes are no Parquet file", size)
	}
	if _, err := r.ReadAt(tail[:], size-8); err != nil {
		return nil, err
	}
	length := int64(binary.LittleEndian.Uint32(tail[:4]))
	if string(tail[4:]) != "PAR1" || length > size-12 || length > maxFooterBytes {
		return nil, fmt.Errorf("not a Parquet file, or cut short")
	}
	footer := make([]byte, length)
	_, err := r.ReadAt(footer, size-8-length)
	return footer, err
}

// add walks the pages of a column chunk.
func (e *extent) add(r io.ReaderAt, size int64, column int, meta thriftValue) error {
	for len(e.values) <= column {
		e.values = append(e.values, 0)
	}
	from, length := meta.field(9).number, meta.field(7).number
	if dict := meta.field(11).number; dict > 0 && dict < from {
		from = dict
	}
	if from < 4 || length < 0 || from > size-length {
		return fmt.Errorf("a column lies outside the file: %w", errUnsound)
	}
	for at := from; at < from+length; {
		page, used, err := readHead(r, e.head[:min(pageHeadBytes, size-at)], at)
		if err != nil {
			page, used, err = readHead(r, e.head[:min(longHeadBytes, size-at)], at)
		}
		if err != nil {
			page, used, err = readHead(r, make([]byte, min(maxPageBytes, size-at)), at)
		}
		if err != nil {
			return fmt.Errorf("page: %w", err)
		}
		unpacked, packed := page.field(2).number, page.field(3).number
		if packed < 0 || packed > from+length-at-int64(used) || unpacked < 0 || unpacked > maxPageBytes {
			return fmt.Errorf("a page of %d bytes that unpacks to %d: %w", packed, unpacked, errUnsound)
		}
		for _, kind := range []int16{5, 7, 8} { // data, dictionary, data of version 2
			values := page.field(kind).field(1).number
			if values < 0 || values > MaxSites {
				return fmt.Errorf("a page of %d values: %w", values, errUnsound)
			}
			if kind != 7 {
				e.values[column] += values
			}
		}
		e.pages++
		e.unpacked += unpacked
		if err := e.check(column); err != nil {
			return err
		}
		at += int64(used) + packed
	}
	return nil
}

func readHead(r io.ReaderAt, head []byte, at int64) (page thriftValue, used int, err error) {
	if _, err := r.ReadAt(head, at); err != nil && !errors.Is(err, io.EOF) {
		return thriftValue{}, 0, err
	}
	return parseStruct(head)
}

// thriftValue is a value of the compact protocol (Apache Thrift, "Thrift
// compact protocol encoding"): a number, or what it holds.
type thriftValue struct {
	number int64
	list   []thriftValue
	fields map[int16]thriftValue
}

func (v thriftValue) field(id int16) thriftValue { return v.fields[id] }

// parseStruct reads a struct from the head of b and returns how long it is.
func parseStruct(b []byte) (v thriftValue, used int, err error) {
	p := thriftParser{b: b}
	v = p.value(thriftStruct, 0)
	return v, p.at, p.err
}

const (
	thriftTrue, thriftFalse, thriftByte, thriftDouble = 1, 2, 3, 7
	thriftBinary, thriftList, thriftSet               = 8, 9, 10
	thriftStruct                                      = 12
	thriftDepth                                       = 16
)

// thriftParser stops at the first error; then everything reads as zero.
type thriftParser struct {
	b      []byte
	at     int
	values int
	err    error
}

func (p *thriftParser) fail() {
	if p.err == nil {
		p.err = errUnsound
	}
	p.at = len(p.b)
}

func (p *thriftParser) byte() byte {
	if p.at >= len(p.b) {
		p.fail()
		return 0
	}
	p.at++
	return p.b[p.at-1]
}

func (p *thriftParser) varint() uint64 {
	n, size := binary.Uvarint(p.b[p.at:])
	if size <= 0 {
		p.fail()
		return 0
	}
	p.at += size
	return n
}

func (p *thriftParser) zigzag() int64 {
	n := p.varint()
	return int64(n>>1) ^ -int64(n&1)
}

func (p *thriftParser) skip(n uint64) {
	if n > uint64(len(p.b)-p.at) {
		p.fail()
		return
	}
	p.at += int(n)
}

func (p *thriftParser) value(kind byte, depth int) thriftValue {
	p.values++
	switch {
	case depth > thriftDepth || p.values > maxThrift:
		p.fail()
	case kind == thriftTrue || kind == thriftFalse:
	case kind == thriftByte:
		p.byte()
	case kind > thriftByte && kind < thriftDouble:
		return thriftValue{number: p.zigzag()}
	case kind == thriftDouble:
		p.skip(8)
	case kind == thriftBinary:
		p.skip(p.varint())
	case kind == thriftList || kind == thriftSet:
		return thriftValue{list: p.elements(depth)}
	case kind == thriftStruct:
		return thriftValue{fields: p.structFields(depth)}
	default: // a map, which does not occur in Parquet, or nothing that exists
		p.fail()
	}
	return thriftValue{}
}

// elements reads a list. Each element takes a byte at least, which bounds how
// many there can be.
func (p *thriftParser) elements(depth int) []thriftValue {
	head := p.byte()
	n, kind := uint64(head>>4), head&15
	if n == 15 {
		n = p.varint()
	}
	if n > uint64(len(p.b)-p.at) {
		p.fail()
		return nil
	}
	var list []thriftValue
	for range n {
		if kind == thriftTrue || kind == thriftFalse {
			p.byte()
			continue
		}
		list = append(list, p.value(kind, depth+1))
		if p.err != nil {
			return nil
		}
	}
	return list
}

func (p *thriftParser) structFields(depth int) map[int16]thriftValue {
	fields := make(map[int16]thriftValue)
	id := int16(0)
	for {
		head := p.byte()
		if head == 0 || p.err != nil {
			return fields
		}
		if delta := int16(head >> 4); delta != 0 {
			id += delta
		} else {
			id = int16(p.zigzag())
		}
		fields[id] = p.value(head&15, depth+1)
	}
}
