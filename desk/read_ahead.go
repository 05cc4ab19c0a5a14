package desk

import "context"

// ReadAhead reads what the first reader of the long pages would wait for: the
// lots, as the register needs them, and the book. What it read stays in memory
// as far as that is kept; pages say the same without it.
func (d *Desk) ReadAhead(ctx context.Context) error {
	today, err := d.Today(ctx)
	if err != nil {
		return err
	}
	if _, err := d.Register(ctx, today, today); err != nil { // reads the lots of all time
		return err
	}
	_, err = d.Book(ctx)
	return err
}
