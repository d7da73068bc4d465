package study

import (
	"bytes"
	"crypto/sha256"
	"encoding/gob"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"ampleway/data/whole"

	"github.com/parquet-go/parquet-go"
)

// workshop is the folder where finished jobs wait until all of them can be put
// together. A job's file appears under its name only when it is whole.
type workshop struct{ folder string }

func (w workshop) path(number int) string {
	return filepath.Join(w.folder, fmt.Sprintf("job-%07d", number))
}

// errBroken marks a file that is not what was written.
var errBroken = errors.New("study: a job's file is not as it was written")

// kept is a result as it is written: the rows as Parquet, which tells a figure
// of 0 from none.
type kept struct {
	Rest  result // without the rows
	Count int
	Rows  []byte
}

// save writes a result with its checksum.
func (w workshop) save(r *result) error {
	k := kept{Rest: *r, Count: len(r.Rows)}
	k.Rest.Rows = nil
	var rows, b bytes.Buffer
	s := newParquetSink(&rows)
	if err := errors.Join(s.add(r.Rows), s.close()); err != nil {
		return err
	}
	k.Rows = rows.Bytes()
	if err := gob.NewEncoder(&b).Encode(&k); err != nil {
		return err
	}
	sum := sha256.Sum256(b.Bytes())
	b.Write(sum[:])
	return whole.Write(w.path(r.Job), w.folder, b.Bytes(), 0o644)
}

// load reads a result back. It is nil where the job has not been done.
func (w workshop) load(number int) (*result, error) {
	text, err := os.ReadFile(w.path(number))
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	body, ok := sound(text)
	if !ok {
		return nil, errBroken
	}
	k := &kept{}
	if err := gob.NewDecoder(bytes.NewReader(body)).Decode(k); err != nil {
		return nil, errBroken
	}
	r := &k.Rest
	r.Rows = make([]Row, k.Count)
	reader := parquet.NewGenericReader[Row](bytes.NewReader(k.Rows))
	defer reader.Close()
	if n, err := reader.Read(r.Rows); n < k.Count {
		return nil, errors.Join(errBroken, err)
	}
	return r, nil
}

// has reports whether a job is done; a broken file is not.
func (w workshop) has(number int) bool {
	text, err := os.ReadFile(w.path(number))
	if err != nil {
		return false
	}
	_, ok := sound(text)
	return ok
}

func sound(text []byte) (body []byte, ok bool) {
	at := len(text) - sha256.Size
	if at < 0 {
		return nil, false
	}
	sum := sha256.Sum256(text[:at])
	return text[:at], bytes.Equal(sum[:], text[at:])
}
