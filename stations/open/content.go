package open

import (
	"bufio"
	"bytes"
	"io"

	"github.com/klauspost/compress/gzip"
	"github.com/klauspost/compress/zstd"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"

	"ampleway/data/fault"
)

type content uint8

const (
	kindText content = iota
	kindEmpty
	kindJSON
	kindXML
	kindPBF
	kindParquet
	kindBinary
)

// kind looks at the first bytes of a file.
func kind(head []byte) content {
	if len(head) >= 16 && head[0] == 0 && bytes.Contains(head[:min(len(head), 32)], []byte("OSMHeader")) {
		return kindPBF
	}
	if bytes.HasPrefix(head, []byte("PAR1")) {
		return kindParquet
	}
	text := bytes.TrimLeft(bytes.TrimPrefix(head, bomUTF8), " \t\r\n")
	switch {
	case len(text) == 0:
		return kindEmpty
	case text[0] == '{' || text[0] == '[':
		return kindJSON
	case text[0] == '<':
		return kindXML
	case bytes.IndexByte(text, 0) >= 0:
		return kindBinary
	}
	return kindText
}

var (
	bomUTF8    = []byte("\xef\xbb\xbf")
	bomUTF16LE = []byte("\xff\xfe")
	bomUTF16BE = []byte("\xfe\xff")
	magicGzip  = []byte("\x1f\x8b")
	magicZstd  = []byte("\x28\xb5\x2f\xfd")
)

// decompress opens .gz and .zst by their first bytes, within the limit on the
// ratio.
func (c *collector) decompress(r io.Reader) (io.ReadCloser, error) {
	packed := &meter{r: r}
	in := bufio.NewReaderSize(packed, 1<<16)
	head, err := in.Peek(4)
	if err != nil && len(head) == 0 && err != io.EOF {
		return nil, err
	}
	var plain io.Reader
	done := func() {}
	switch {
	case bytes.HasPrefix(head, magicGzip):
		z, err := gzip.NewReader(in)
		if err != nil {
			return nil, &fault.Input{Expected: "a gzip file", Err: err}
		}
		plain = z
	case bytes.HasPrefix(head, magicZstd):
		z, err := zstd.NewReader(in, zstd.WithDecoderConcurrency(1), zstd.WithDecoderMaxWindow(128<<20))
		if err != nil {
			return nil, &fault.Input{Expected: "a zstd file", Err: err}
		}
		plain, done = z, z.Close
	default:
		return readCloser{in, done}, nil
	}
	guard := &ratioGuard{plain: plain, packed: packed, limit: int64(c.limits.Ratio), name: c.report.File}
	return readCloser{&packedErrors{guard}, done}, nil
}

type readCloser struct {
	io.Reader
	done func()
}

func (r readCloser) Close() error {
	r.done()
	return nil
}

// packedErrors says of a decompressor's error that the input is to blame.
type packedErrors struct{ r io.Reader }

func (p *packedErrors) Read(b []byte) (int, error) {
	n, err := p.r.Read(b)
	if err != nil && err != io.EOF {
		if _, ok := err.(*fault.Input); !ok {
			err = &fault.Input{Expected: "a whole compressed file", Err: err}
		}
	}
	return n, err
}

// decode turns UTF-16 with a byte order mark, or the column map's encoding,
// into UTF-8 and drops a byte order mark.
func (c *collector) decode(in *bufio.Reader, head []byte) (io.Reader, error) {
	switch {
	case bytes.HasPrefix(head, bomUTF8):
		_, err := in.Discard(len(bomUTF8))
		return in, err
	case bytes.HasPrefix(head, bomUTF16LE), bytes.HasPrefix(head, bomUTF16BE):
		c.report.note("read as UTF-16 by its byte order mark")
		return transform.NewReader(in, unicode.UTF16(unicode.LittleEndian, unicode.ExpectBOM).NewDecoder()), nil
	case c.o.Map != nil && c.o.Map.Encoding != "":
		return c.o.Map.decode(in)
	case looksUTF16(head):
		return nil, &fault.Input{Found: "every other byte zero", Expected: "UTF-8, or UTF-16 with a byte order mark", Err: ErrEncoding}
	}
	return in, nil
}

// looksUTF16 recognises mostly Latin text in UTF-16 without a mark: zeros in
// every other place alone.
func looksUTF16(head []byte) bool {
	var zeros [2]int
	for i, b := range head[:min(len(head), 64)] {
		if b == 0 {
			zeros[i%2]++
		}
	}
	return max(zeros[0], zeros[1]) >= 8 && min(zeros[0], zeros[1]) == 0
}

func (m *Map) decode(in io.Reader) (io.Reader, error) {
	switch m.Encoding {
	case "utf-8":
		return in, nil
	case "windows-1252":
		return charmap.Windows1252.NewDecoder().Reader(in), nil
	case "iso-8859-1":
		return charmap.ISO8859_1.NewDecoder().Reader(in), nil
	case "iso-8859-15":
		return charmap.ISO8859_15.NewDecoder().Reader(in), nil
	}
	return nil, &fault.Input{Field: "encoding", Found: m.Encoding, Expected: "utf-8, windows-1252, iso-8859-1 or iso-8859-15", Err: ErrEncoding}
}
