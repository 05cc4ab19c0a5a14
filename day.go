package holdfast

import (
	"fmt"
	"time"
)

// Day is a civil day: the number of days since 1970-01-01 of the calendar date
// in some zone. Tasks fall due by day, never every 24 hours, so that the change
// to summer time moves nothing.
type Day int

// DayOf returns the civil day on which the instant falls in the zone.
func DayOf(m Micros, loc *time.Location) Day {
	t := m.In(loc)
	return DayFromDate(t.Year(), t.Month(), t.Day())
}

// DayFromDate returns the day of a calendar date.
func DayFromDate(y int, mo time.Month, d int) Day {
	return Day(time.Date(y, mo, d, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}

// Date returns the day as midnight UTC, for formatting.
func (d Day) Date() time.Time { return time.Unix(int64(d)*86400, 0).UTC() }

// String returns the day as 2006-01-02.
func (d Day) String() string { return d.Date().Format(time.DateOnly) }

// ParseDay reads a day as 2006-01-02.
func ParseDay(s string) (Day, bool) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return 0, false
	}
	return DayFromDate(t.Year(), t.Month(), t.Day()), true
}

// Start returns the instant at which the day begins in the zone.
func (d Day) Start(loc *time.Location) Micros {
	t := d.Date()
	return MicrosOf(time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, loc))
}

// MarshalText writes the day as 2006-01-02.
func (d Day) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads a day as 2006-01-02.
func (d *Day) UnmarshalText(text []byte) error {
	day, ok := ParseDay(string(text))
	if !ok {
		return fmt.Errorf("%q is not a day such as 2026-11-25", text)
	}
	*d = day
	return nil
}
