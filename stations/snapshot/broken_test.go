package snapshot_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/parquet-go/parquet-go"

	"ampleway/data/fault"
	"ampleway/stations"
	"ampleway/stations/snapshot"
	"ampleway/stations/synthetic"
)

// tryRead reads bytes that may be anything. What is read must be whole; what
// is refused must be refused as an input, with the file's name.
func tryRead(t testing.TB, file []byte) (*snapshot.Table, error) {
	t.Helper()
	table, err := snapshot.Read(bytes.NewReader(file), int64(len(file)), "broken.parquet")
	if err != nil {
		var input *fault.Input
		if !errors.As(err, &input) || !strings.Contains(err.Error(), "broken.parquet") {
			t.Fatalf("refused without saying which file: %v", err)
		}
		return nil, err
	}
	for i := range table.Len() {
		site := table.Site(i)
		if err := site.Validate(); err != nil {
			t.Fatalf("site %d was read and is not valid: %v", i, err)
		}
		if _, err := json.Marshal(site); err != nil {
			t.Fatalf("site %d: %v", i, err)
		}
	}
	return table, nil
}

func TestDamagedFiles(t *testing.T) {
	good := write(t, synthetic.Sites(300, 5))
	rng := rand.New(rand.NewPCG(1, 1))
	refused := 0
	for range 1500 {
		file := bytes.Clone(good)
		switch rng.IntN(3) {
		case 0:
			for range 1 + rng.IntN(8) {
				file[rng.IntN(len(file))] ^= 1 << rng.IntN(8)
			}
		case 1:
			tail := len(file) - rng.IntN(min(len(file), 4000))
			file[tail%len(file)] = byte(rng.IntN(256))
		case 2:
			cut := rng.IntN(len(file))
			file = append(file[:cut], file[cut+rng.IntN(len(file)-cut):]...)
		}
		if _, err := tryRead(t, file); err != nil {
			refused++
		}
	}
	if refused < 500 {
		t.Errorf("of 1500 damaged files %d were refused", refused)
	}
}

// otherFile writes rows of any type as Parquet, with our mark on it.
func otherFile[T any](t *testing.T, mark string, rows ...T) []byte {
	t.Helper()
	var file bytes.Buffer
	w := parquet.NewGenericWriter[T](&file, parquet.KeyValueMetadata("ampleway", mark))
	if _, err := w.Write(rows); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return file.Bytes()
}

// minimal has the columns that are read.
type minimal struct {
	ID        string `parquet:"id"`
	Source    string `parquet:"source"`
	Licence   string `parquet:"licence"`
	Name      string `parquet:"name"`
	Operator  string `parquet:"operator"`
	Network   string `parquet:"network"`
	Address   string `parquet:"address"`
	Country   string `parquet:"country"`
	Access    string `parquet:"access"`
	Status    string `parquet:"status"`
	Hours     string `parquet:"hours"`
	Zone      string `parquet:"zone"`
	Geometry  []byte `parquet:"geometry"`
	Stalls    string `parquet:"stalls"`
	StallIDs  string `parquet:"stall_ids"`
	Price     string `parquet:"price"`
	Amenities string `parquet:"amenities"`
	Updated   string `parquet:"updated"`
	More      string `parquet:"more"`
}

func place() minimal {
	point := append([]byte{1, 1, 0, 0, 0}, make([]byte, 16)...)
	return minimal{ID: "a", Geometry: point}
}

// A file with other encodings and no nulls, as another tool may write it, is
// read as well.
func TestFileOfAnotherWriter(t *testing.T) {
	row := place()
	row.Access, row.Stalls = "public", `[{"count":2,"connectors":[{"type":"CCS2","dc":true,"power_kw":50}]}]`
	table, err := tryRead(t, otherFile(t, "stations 1", row))
	if err != nil {
		t.Fatal(err)
	}
	if s := table.Site(0); s.Access != stations.AccessPublic || len(s.Stalls) != 2 || s.Lon != 0 {
		t.Errorf("%+v", s)
	}
}

func TestWrongFilesSayWhatIsWrong(t *testing.T) {
	with := func(change func(*minimal)) []byte {
		row := place()
		change(&row)
		return otherFile(t, "stations 1", row)
	}
	type narrow struct {
		ID int64 `parquet:"id"`
	}
	good := write(t, synthetic.Sites(10, 1))
	for name, c := range map[string]struct {
		file []byte
		want string
	}{
		"empty":            {nil, "snapshot"},
		"text":             {[]byte("id,name\n1,a\n"), "snapshot"},
		"only the magic":   {[]byte("PAR1PAR1"), "snapshot"},
		"cut in half":      {good[:len(good)/2], "snapshot"},
		"without its head": {good[100:], "snapshot"},
		"another mark":     {otherFile(t, "stations 2", place()), "stations 2"},
		"another table":    {otherFile(t, "stations 1", narrow{1}), "column"},
		"geometry":         {with(func(m *minimal) { m.Geometry = []byte("POINT (1 2)") }), "WKB"},
		"a line":           {with(func(m *minimal) { m.Geometry[1] = 2 }), "WKB"},
		"off the globe":    {with(func(m *minimal) { m.Geometry[11], m.Geometry[12] = 0x80, 0x76 }), "globe"},
		"access":           {with(func(m *minimal) { m.Access = "maybe" }), "access"},
		"stalls":           {with(func(m *minimal) { m.Stalls = "[{" }), "stalls"},
		"negative power":   {with(func(m *minimal) { m.Stalls = `[{"connectors":[{"power_kw":-1}]}]` }), "power_kw"},
		"endless stalls":   {with(func(m *minimal) { m.Stalls = `[{"count":99999999}]` }), "stalls"},
		"names of none":    {with(func(m *minimal) { m.StallIDs = "a\nb" }), "names"},
		"currency":         {with(func(m *minimal) { m.Price = `{"currency":"?"}` }), "currency"},
		"date":             {with(func(m *minimal) { m.Updated = "yesterday" }), "updated"},
		"exit":             {with(func(m *minimal) { m.More = `{"exit":{"lon":200}}` }), "exit"},
	} {
		if _, err := tryRead(t, c.file); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want something about %q", name, err, c.want)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte("PAR1"))
	f.Add(write(f, nil))
	f.Add(write(f, synthetic.Sites(1, 1)))
	f.Add(write(f, synthetic.Sites(40, 2)))
	f.Fuzz(func(t *testing.T, file []byte) { tryRead(t, file) })
}
