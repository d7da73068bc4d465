package open_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"strings"
	"testing"

	"github.com/klauspost/compress/gzip"
	"github.com/klauspost/compress/zlib"
	"github.com/klauspost/compress/zstd"

	"ampleway/data/fault"
	"ampleway/stations/open"
	"ampleway/testdata"
)

// flood is an input that never seems to end: a beginning, then one text over
// and over. It watches the heap while it is read.
type flood struct {
	head, again []byte
	left        int64
	read        int64
	peak        uint64
	at          int
}

func (f *flood) Read(p []byte) (int, error) {
	if f.left <= 0 {
		return 0, io.EOF
	}
	n := copy(p, f.head)
	f.head = f.head[n:]
	for n < len(p) {
		m := copy(p[n:], f.again[f.at:])
		n += m
		f.at = (f.at + m) % len(f.again)
	}
	n = int(min(int64(n), f.left))
	f.left -= int64(n)
	if f.read>>24 != (f.read+int64(n))>>24 {
		f.look()
	}
	f.read += int64(n)
	return n, nil
}

func (f *flood) look() {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	f.peak = max(f.peak, m.HeapInuse)
}

// packed writes so many zero-entropy bytes, compressed.
func packed(t *testing.T, size int64, again string, pack func(io.Writer) io.WriteCloser) *os.File {
	t.Helper()
	file, err := os.Create(filepath.Join(t.TempDir(), "packed"))
	if err != nil {
		t.Fatal(err)
	}
	z := pack(file)
	if _, err := io.Copy(z, &flood{again: bytes.Repeat([]byte(again), max(1, 1<<14/len(again))), left: size}); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := file.Seek(0, io.SeekStart); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { file.Close() })
	return file
}

// blob frames bytes as a block of .osm.pbf that is zlib-compressed.
func blob(kind string, zipped []byte) []byte {
	field := func(num byte, b []byte) []byte {
		return append(binary.AppendUvarint([]byte{num<<3 | 2}, uint64(len(b))), b...)
	}
	body := field(3, zipped)
	header := append(field(1, []byte(kind)), binary.AppendUvarint([]byte{3 << 3}, uint64(len(body)))...)
	return append(append(binary.BigEndian.AppendUint32(nil, uint32(len(header))), header...), body...)
}

// A pathological input of 2 GB ends in the named error, and the heap stays
// small all the while. By default each is 32 MB with room for 100,000 records;
// AMPLEWAY_SLOW=1 runs the 2 GB with the limits that users have.
func TestFloods(t *testing.T) {
	size, limits := int64(32<<20), open.Limits{Records: 100_000}
	if testdata.Slow() {
		size, limits = 2<<30, open.Limits{}
	}
	var bomb bytes.Buffer
	z := zlib.NewWriter(&bomb)
	if _, err := io.Copy(z, &flood{again: make([]byte, 1<<16), left: 64 << 20}); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	const own = "lon,lat,connector,power_kw\n"
	const geo = `{"type":"FeatureCollection","features":[`
	// The bound is on what is held, not on garbage that waits for collection.
	const gcPercent = 20
	defer debug.SetGCPercent(debug.SetGCPercent(gcPercent))
	for _, c := range []struct {
		name, head, again string
		err               error
		heapMB            uint64
	}{
		{"a JSON text without end", `[{"id":"`, "aaaaaaaa", open.ErrRecordTooLong, 64},
		{"a feature without end", geo + `{"type":"Feature","properties":{"a":[`, "1,", open.ErrRecordTooLong, 64},
		{"a number without end", geo, "1", open.ErrRecordTooLong, 64},
		{"brackets without end", "", "[", open.ErrTooDeep, 64},
		{"brackets in a feature", geo + `{"a":`, `{"a":`, open.ErrTooDeep, 64},
		{"members without end", "{", `"a":1,`, open.ErrRecordTooLong, 128},
		{"empty objects without end", `[{}`, `,{}`, open.ErrTooMany, 64},
		{"a quote that is not closed", own + `"`, "1,2,CCS2,150\n", open.ErrRecordTooLong, 64},
		{"a row without end", own, "1,", open.ErrRecordTooLong, 128},
		{"a header without end", "", "lon", open.ErrRecordTooLong, 64},
		{"rows that are none", own, "a,b\n", open.ErrTooMany, 64},
		{"rows of one site", own, "1,2,CCS2,150\n", open.ErrTooMany, 1024},
		{"rows of many stalls", "lon,lat,connector,stalls\n", "1,2,CCS2,10000\n", open.ErrTooMany, 1024},
		{"an attribute without end", `<osm><node id="`, "1", open.ErrRecordTooLong, 64},
		{"elements without end", `<osm>`, "<a>", open.ErrRecordTooLong, 256},
		{"a comment without end", `<osm><!-- `, "-  ", open.ErrRecordTooLong, 64},
		{"blocks without end", "\x00\x00\x00\x0d\x0a\x09OSMHeader\x18\x00", "\x00\x00\x00\x0b\x0a\x07OSMData\x18\x00", open.ErrNothingUsable, 64},
		{"a block of 4 GB", "\x00\x00\x00\x11\x0a\x09OSMHeader\x18\xff\xff\xff\xff\x0f", "\x00", open.ErrRecordTooLong, 64},
		{"a block that unpacks to more", "\x00\x00\x00\x0d\x0a\x09OSMHeader\x18\x00" + string(blob("OSMData", bomb.Bytes())), "\x00", open.ErrRatio, 256},
	} {
		t.Run(c.name, func(t *testing.T) {
			runtime.GC()
			f := &flood{head: []byte(c.head), again: []byte(c.again), left: int64(len(c.head)) + size/int64(len(c.again))*int64(len(c.again))}
			_, _, err := open.Read(f, "flood", open.Options{Limits: limits})
			f.look()
			var bad *fault.Input
			if !errors.Is(err, c.err) || !errors.As(err, &bad) {
				t.Errorf("%v, want %v", err, c.err)
			}
			t.Logf("%d MB read, at most %d MB of heap: %v", f.read>>20, f.peak>>20, err)
			if f.peak > c.heapMB<<20 {
				t.Errorf("%d MB of heap, want at most %d", f.peak>>20, c.heapMB)
			}
		})
	}
}

// 2 GB in a compressed file of a few MB or less ends at the ratio.
func TestBombs(t *testing.T) {
	size, limits := int64(72<<20), open.Limits{Ratio: 100}
	if testdata.Slow() {
		size, limits = 2<<30, open.Limits{}
	}
	for name, pack := range map[string]func(io.Writer) io.WriteCloser{
		"gzip": func(w io.Writer) io.WriteCloser { return gzip.NewWriter(w) },
		"zstd": func(w io.Writer) io.WriteCloser {
			z, err := zstd.NewWriter(w)
			if err != nil {
				t.Fatal(err)
			}
			return z
		},
	} {
		t.Run(name, func(t *testing.T) {
			file := packed(t, size, "lon,lat,"+strings.Repeat("a", 40000)+"\n", pack)
			_, report, err := open.Read(file, "bomb."+name, open.Options{Limits: limits})
			if !errors.Is(err, open.ErrRatio) {
				t.Errorf("%v", err)
			}
			t.Logf("%v after %d records", err, report.Records)
		})
	}
}

// A file that is compressed reads as the file does.
func TestCompressed(t *testing.T) {
	want, _, err := open.Read(bytes.NewReader([]byte(ownCSV)), "own", open.Options{})
	if err != nil {
		t.Fatal(err)
	}
	zw, err := zstd.NewWriter(nil)
	if err != nil {
		t.Fatal(err)
	}
	var gz bytes.Buffer
	w := gzip.NewWriter(&gz)
	if _, err := w.Write([]byte(ownCSV)); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	for name, data := range map[string][]byte{"gzip": gz.Bytes(), "zstd": zw.EncodeAll([]byte(ownCSV), nil)} {
		got, _, err := open.Read(bytes.NewReader(data), name, open.Options{})
		if err != nil {
			t.Fatal(err)
		}
		sameSites(t, name, want, got)
	}
}
