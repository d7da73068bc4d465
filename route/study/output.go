package study

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"reflect"

	"ampleway/data/whole"

	"github.com/parquet-go/parquet-go"
)

// rowGroup is how many rows stand together in cases.parquet.
const rowGroup = 50_000

// sink takes the rows of a study in order.
type sink interface {
	add(rows []Row) error
	close() error
}

// rowBatch is how many rows are handed to the writer at once: it divides
// rowGroup. The writer cuts its pages between batches, so that batches must not
// depend on how the rows come.
const rowBatch = 1000

// casesForm is what the file says of itself under the key "ampleway".
const casesForm = "cases 1"

// parquetSink writes Parquet, compressed by Snappy. The same rows give the same
// bytes, however they come.
type parquetSink struct {
	w       *parquet.GenericWriter[Row]
	batch   []Row
	batches int
}

func newParquetSink(w io.Writer) *parquetSink {
	return &parquetSink{w: parquet.NewGenericWriter[Row](w, parquet.Compression(&parquet.Snappy), parquet.CreatedBy("ampleway", "margins", ""), parquet.KeyValueMetadata("ampleway", casesForm))}
}

func (s *parquetSink) add(rows []Row) error {
	for len(rows) > 0 {
		n := min(len(rows), rowBatch-len(s.batch))
		s.batch = append(s.batch, rows[:n]...)
		rows = rows[n:]
		if len(s.batch) == rowBatch {
			if err := s.write(); err != nil {
				return err
			}
		}
	}
	return nil
}

func (s *parquetSink) write() error {
	_, err := s.w.Write(s.batch)
	s.batch = s.batch[:0]
	if s.batches++; err == nil && s.batches%(rowGroup/rowBatch) == 0 {
		err = s.w.Flush()
	}
	return err
}

func (s *parquetSink) close() error {
	return errors.Join(s.write(), s.w.Close())
}

type csvSink struct {
	w      *csv.Writer
	record []string
}

func newCSVSink(w io.Writer) (*csvSink, error) {
	s := &csvSink{csv.NewWriter(w), columns()}
	return s, s.w.Write(s.record)
}

func (s *csvSink) add(rows []Row) error {
	for i := range rows {
		row := reflect.ValueOf(&rows[i]).Elem()
		for k := range s.record {
			s.record[k] = cell(row.Field(k))
		}
		if err := s.w.Write(s.record); err != nil {
			return err
		}
	}
	return nil
}

func (s *csvSink) close() error {
	s.w.Flush()
	return s.w.Error()
}

// newFile is a file that appears under its name only when it is whole.
type newFile struct {
	file *whole.File
	buf  *bufio.Writer
	sink sink
	name string
}

// store is a folder of results. What is not whole yet waits in temp, on the
// same file system.
type store struct{ folder, temp string }

func (s store) create(name string) (*newFile, error) {
	path := filepath.Join(s.folder, name)
	file, err := whole.Create(path, s.temp, 0o644)
	if err != nil {
		return nil, fmt.Errorf("cannot write %s: %w", path, err)
	}
	return &newFile{file: file, buf: bufio.NewWriterSize(file, 1<<16), name: name}, nil
}

func (f *newFile) finish() error {
	if f.sink != nil {
		if err := f.sink.close(); err != nil {
			return err
		}
	}
	if err := f.buf.Flush(); err != nil {
		return err
	}
	return f.file.Keep()
}

// tables are the files with a row a case.
type tables struct{ files []*newFile }

func newTables(s store, withCSV bool) (*tables, error) {
	t := &tables{}
	if s.folder == "" {
		return t, nil
	}
	f, err := s.create(CasesFile)
	if err != nil {
		return nil, err
	}
	f.sink = newParquetSink(f.buf)
	t.files = append(t.files, f)
	if !withCSV {
		return t, nil
	}
	if f, err = s.create(CSVFile); err != nil {
		t.drop()
		return nil, err
	}
	t.files = append(t.files, f)
	c, err := newCSVSink(f.buf)
	f.sink = c
	return t, err
}

func (t *tables) add(rows []Row) error {
	for _, f := range t.files {
		if err := f.sink.add(rows); err != nil {
			return fmt.Errorf("cannot write %s: %w", f.name, err)
		}
	}
	return nil
}

func (t *tables) finish() error {
	for _, f := range t.files {
		if err := f.finish(); err != nil {
			return fmt.Errorf("cannot write %s: %w", f.name, err)
		}
	}
	return nil
}

// drop removes what was not finished.
func (t *tables) drop() {
	for _, f := range t.files {
		f.file.Discard()
	}
}

// write writes a file whole.
func (s store) write(name string, text []byte) error {
	path := filepath.Join(s.folder, name)
	if err := whole.Write(path, s.temp, text, 0o644); err != nil {
		return fmt.Errorf("cannot write %s: %w", path, err)
	}
	return nil
}
