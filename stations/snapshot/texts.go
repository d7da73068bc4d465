package snapshot

import (
	"fmt"

	"github.com/parquet-go/parquet-go"
)

// maxTextBytes is how much text a column may hold.
const maxTextBytes = 1 << 30

// texts is a column of texts: one block of bytes, and for each row the number
// of its text. Text 0 is the empty one, which is also what a null reads as.
type texts struct {
	bytes []byte
	ends  []uint32 // ends[n] is where text n ends; it begins where n−1 ends
	rows  []uint32
	known map[string]uint32 // texts by content, where equal ones are kept once

	dict    parquet.Dictionary // of the row group that is read
	numbers []uint32           // of its texts
}

// newTexts makes room for a number of rows. Where equal texts are kept once it
// makes room for few texts, otherwise for one a row and size bytes in all.
func newTexts(rows, size int, once bool) *texts {
	t := &texts{ends: []uint32{0}, rows: make([]uint32, 0, rows)}
	if once {
		t.known = map[string]uint32{"": 0}
		return t
	}
	t.bytes = make([]byte, 0, size)
	t.ends = append(make([]uint32, 0, rows+1), 0)
	return t
}

// text returns text number n. The result shares no memory that changes.
func (t *texts) text(n uint32) string {
	if n == 0 {
		return ""
	}
	return string(t.bytes[t.ends[n-1]:t.ends[n]])
}

func (t *texts) at(row int) string { return t.text(t.rows[row]) }

// number returns the number of a text, a new one where it is not known.
func (t *texts) number(b []byte) (uint32, error) {
	if len(b) == 0 {
		return 0, nil
	}
	if n, ok := t.known[string(b)]; ok {
		return n, nil
	}
	if len(t.bytes)+len(b) > maxTextBytes {
		return 0, fmt.Errorf("more than %d bytes of text in one column", maxTextBytes)
	}
	t.bytes = append(t.bytes, b...)
	t.ends = append(t.ends, uint32(len(t.bytes)))
	n := uint32(len(t.ends) - 1)
	if t.known != nil {
		t.known[string(b)] = n
	}
	return n, nil
}

// settle lets go of what only reading needs.
func (t *texts) settle() { t.known, t.dict, t.numbers = nil, nil, nil }

// each calls visit with every text but the empty one, in order.
func (t *texts) each(visit func(n uint32, text []byte) error) error {
	for n := 1; n < len(t.ends); n++ {
		if err := visit(uint32(n), t.bytes[t.ends[n-1]:t.ends[n]]); err != nil {
			return err
		}
	}
	return nil
}
