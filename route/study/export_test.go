package study

// ReadRows hands all rows of a folder's cases to take in order, some at a time.
func ReadRows(folder string, take func([]Row) error) error {
	r, err := openRows(folder)
	if err != nil {
		return err
	}
	defer r.close()
	return r.next(r.rows.NumRows(), take)
}
