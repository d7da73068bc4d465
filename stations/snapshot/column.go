package snapshot

import (
	"errors"
	"fmt"
	"io"

	"github.com/parquet-go/parquet-go"
)

// pages calls visit with each page of a column, group by group.
func pages(file *parquet.File, column int, visit func(parquet.Page) error) error {
	for _, group := range file.RowGroups() {
		if err := groupPages(group.ColumnChunks()[column], visit); err != nil {
			return err
		}
	}
	return nil
}

func groupPages(chunk parquet.ColumnChunk, visit func(parquet.Page) error) error {
	reader := chunk.Pages()
	defer reader.Close()
	for {
		page, err := reader.ReadPage()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		err = visit(page)
		parquet.Release(page)
		if err != nil {
			return err
		}
	}
}

// values calls take with each value of a page of byte arrays, nil for a null.
func values(page parquet.Page, take func(b []byte) error) error {
	data := page.Data()
	block, offsets := data.ByteArray()
	levels := page.DefinitionLevels()
	next := 0
	for i := range int(page.NumValues()) {
		if levels != nil && levels[i] == 0 {
			if err := take(nil); err != nil {
				return err
			}
			continue
		}
		if next+1 >= len(offsets) || offsets[next] > offsets[next+1] || int(offsets[next+1]) > len(block) {
			return fmt.Errorf("a page ends early")
		}
		if err := take(block[offsets[next]:offsets[next+1]]); err != nil {
			return err
		}
		next++
	}
	return nil
}

// readTexts reads a column of texts.
func readTexts(file *parquet.File, column int, once bool) (*texts, error) {
	t := newTexts(roomFor(file), textSize(file, column), once)
	err := pages(file, column, func(page parquet.Page) error {
		if dict := page.Dictionary(); dict != nil {
			return t.addIndexed(page, dict)
		}
		return values(page, t.add)
	})
	return t, err
}

// textSize returns about how many bytes a column holds. It is a hint from the
// file, and no more than eight times the file or a column may hold.
func textSize(file *parquet.File, column int) int {
	var size int64
	for _, group := range file.Metadata().RowGroups {
		size += max(0, min(group.Columns[column].MetaData.TotalUncompressedSize, file.Size()))
	}
	return int(min(size, 8*file.Size(), maxTextBytes))
}

// roomFor returns for how many rows to make room: no more than the file has
// bytes.
func roomFor(file *parquet.File) int { return int(min(file.NumRows(), file.Size())) }

func (t *texts) add(b []byte) error {
	n, err := t.number(b)
	t.rows = append(t.rows, n)
	return err
}

// addIndexed adds a page whose values are numbers into a dictionary.
func (t *texts) addIndexed(page parquet.Page, dict parquet.Dictionary) error {
	numbers, err := t.learn(dict)
	if err != nil {
		return err
	}
	data := page.Data()
	indexes := data.Int32()
	levels := page.DefinitionLevels()
	next := 0
	for i := range int(page.NumValues()) {
		if levels != nil && levels[i] == 0 {
			t.rows = append(t.rows, 0)
			continue
		}
		if next >= len(indexes) || uint32(indexes[next]) >= uint32(len(numbers)) {
			return fmt.Errorf("a page does not fit its dictionary")
		}
		t.rows = append(t.rows, numbers[indexes[next]])
		next++
	}
	return nil
}

// learn returns the numbers of a dictionary's texts.
func (t *texts) learn(dict parquet.Dictionary) ([]uint32, error) {
	if t.dict == dict {
		return t.numbers, nil
	}
	t.dict, t.numbers = dict, make([]uint32, dict.Len())
	for i := range t.numbers {
		n, err := t.number(dict.Index(int32(i)).ByteArray())
		if err != nil {
			return nil, err
		}
		t.numbers[i] = n
	}
	return t.numbers, nil
}
