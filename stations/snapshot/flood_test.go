package snapshot_test

import (
	"encoding/binary"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/encoding/thrift"
	"github.com/parquet-go/parquet-go/format"

	"ampleway/stations/snapshot"
)

// refusedWithin loads a file that must be refused, for a reason, without
// allocating more than so many MB in all.
func refusedWithin(t *testing.T, path, reason string, mb uint64) {
	t.Helper()
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	_, err := load(path)
	runtime.ReadMemStats(&after)
	allocated := (after.TotalAlloc - before.TotalAlloc) >> 20
	if err == nil || !strings.Contains(err.Error(), reason) || !strings.Contains(err.Error(), filepath.Base(path)) {
		t.Errorf("error %v, want something about %q", err, reason)
	}
	t.Logf("%v: %d MB allocated in all", err, allocated)
	if allocated > mb {
		t.Errorf("%d MB were allocated, at most %d are allowed", allocated, mb)
	}
}

// sparse makes a file of 2 GB that is empty but for its ends.
func sparse(t *testing.T, head, tail []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "sparse.parquet")
	file, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	const size = 2 << 30
	for _, part := range []struct {
		b  []byte
		at int64
	}{{head, 0}, {tail, size - int64(len(tail))}} {
		if _, err := file.WriteAt(part.b, part.at); err != nil {
			t.Fatal(err)
		}
	}
	return path
}

func ending(footer int) []byte {
	return append(binary.LittleEndian.AppendUint32(nil, uint32(footer)), "PAR1"...)
}

// A file of 2 GB of nothing between the marks of the format is refused.
func TestSparseFloods(t *testing.T) {
	refusedWithin(t, sparse(t, []byte("PAR1"), ending(1<<31-64)), "not a Parquet file, or cut short", 1)
	refusedWithin(t, sparse(t, []byte("PAR1"), ending(32<<20)), "metadata", 200)
	list := append([]byte{0x49, 0xfc, 0x80, 0x80, 0x80, 0x0f}, make([]byte, 31<<20)...) // field 4, a list of 31 million empty structs
	refusedWithin(t, sparse(t, []byte("PAR1"), append(list, ending(len(list))...)), "footer", 600)
}

// wide writes a snapshot whose rows change row does, and returns its name.
func wide(t *testing.T, rows int, change func(n int, m *minimal)) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "wide.parquet")
	file, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	w := parquet.NewGenericWriter[minimal](file, parquet.KeyValueMetadata("ampleway", "stations 1"), parquet.Compression(&parquet.Zstd), parquet.MaxRowsPerRowGroup(500))
	for n := range rows {
		row := place()
		row.ID = fmt.Sprint(n)
		change(n, &row)
		if _, err := w.Write([]minimal{row}); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

// Short texts that stand for much are refused before they are it.
func TestBombs(t *testing.T) {
	refusedWithin(t, wide(t, 150, func(n int, m *minimal) {
		m.Stalls = fmt.Sprintf(`[{"count":100000,"group":%d,"connectors":[]}]`, n)
	}), "bays in layouts that differ", 1500)
	objects := strings.Repeat("{},", 8000)
	refusedWithin(t, wide(t, 700, func(n int, m *minimal) {
		m.More = fmt.Sprintf(`{"note":"%d","parts":[%s{}]}`, n, objects)
	}), "objects: at most", 500) // read, the objects would take 2,000
}

// A small file whose footer names the same rows over and over, so that it
// unpacks to more than 2 GB, is refused by what its pages say.
func TestOversizedSnapshot(t *testing.T) {
	name := strings.Repeat("Mill Bridge ", 1000)
	path := wide(t, 400, func(_ int, m *minimal) { m.Name = name })
	file, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	end := len(file) - 8 - int(binary.LittleEndian.Uint32(file[len(file)-8:]))
	var footer format.FileMetaData
	if err := thrift.Unmarshal(new(thrift.CompactProtocol), file[end:len(file)-8], &footer); err != nil {
		t.Fatal(err)
	}
	footer.RowGroups = slices.Repeat(footer.RowGroups, 500)
	footer.NumRows *= 500
	again, err := thrift.Marshal(new(thrift.CompactProtocol), footer)
	if err != nil {
		t.Fatal(err)
	}
	file = append(append(file[:end], again...), ending(len(again))...)
	if err := os.WriteFile(path, file, 0o644); err != nil {
		t.Fatal(err)
	}
	refusedWithin(t, path, "unpacks to more than", 200)
}

func load(path string) (*snapshot.Table, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		return nil, err
	}
	return snapshot.Read(file, info.Size(), path)
}
