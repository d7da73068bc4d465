package open

import (
	"encoding/json"

	fast "github.com/segmentio/encoding/json"
)

// decode reads a record into a value that is empty before. What the faster
// reader refuses is given to the standard library, which has the last word, so
// that a fault reads the same whoever found it.
func decode[T any](raw []byte, v *T) error {
	if fast.Unmarshal(raw, v) == nil {
		return nil
	}
	var empty T
	*v = empty
	return json.Unmarshal(raw, v)
}
