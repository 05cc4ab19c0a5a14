package desk

import "context"

// ReadAhead reads the lots of all time, as the register needs them, so that its
// first reader does not wait for that. What it read stays in memory as far as
// that is kept; pages say the same without it.
func (d *Desk) ReadAhead(ctx context.Context) error {
	today, err := d.Today(ctx)
	if err != nil {
		return err
	}
	_, err = d.Register(ctx, today, today)
	return err
}
