package cli

import (
	"cmp"
	"errors"
	"fmt"

	"holdfast"
	"holdfast/desk"
	"holdfast/science/clearance"
	"holdfast/science/ref"
)

// storedAnswer is the answer for a lot of a data folder: days are counted from
// day 0.
type storedAnswer struct {
	Lot string `json:"lot"`
	// Day0 is the civil day of arrival.
	Day0 string `json:"day_0"`
	clearance.Answer
	// Accepted is the course the lot is on, as it stands; nil without one.
	Accepted *clearance.Outlook `json:"accepted,omitempty"`
	// Deviations say where reality left it.
	Deviations []string `json:"deviations,omitempty"`
	// Notes say what was simplified or assumed of the lot.
	Notes []string `json:"notes,omitempty"`
}

// runStored searches for a lot that stands in a data folder.
func (c Course) runStored(env *Env) error {
	if c.Data == "" || env.Folder == nil {
		return ref.Inputf("data", "Name the data folder with --data.", "a lot stands in a data folder")
	}
	d, done, err := env.Folder(env.Context, c.Data, "")
	if err != nil {
		return err
	}
	defer done()
	if d.Life != nil {
		d.Life.Coarse = true // the folder is open for reading only, so no figure can be kept
	}
	v, err := d.View(env.Context, c.Lot)
	if err != nil {
		return err
	}
	against := desk.CourseAgainst(v, c.Against)
	if against == "" || c.Against != "" && against != c.Against {
		return ref.Inputf("against", "Choose a condition that these animals can carry and the model knows.", "no course of lot %s can be against %q", c.Lot, c.Against)
	}
	b, err := v.Base(against)
	if err != nil {
		return err
	}
	q := b.Question(desk.Money(v), cmp.Or(c.Runs, 1000))
	q.Case.Seed = cmp.Or(c.Seed, desk.CourseSeed)
	out := storedAnswer{Lot: c.Lot, Day0: b.Start.String(), Notes: b.Notes}
	if out.Answer, err = clearance.Search(env.Context, q, c.report(env)); err != nil {
		return err
	}
	for _, x := range v.Deviations() {
		out.Deviations = append(out.Deviations, x.Says)
	}
	if err := c.accepted(env, v, b, desk.Money(v), &out); err != nil {
		return err
	}
	if c.JSON {
		return env.PrintJSON(out)
	}
	fmt.Fprintf(env.Out, "Lot %s, day 0 is %s.\n", c.Lot, b.Start)
	for _, s := range out.Deviations {
		fmt.Fprintln(env.Out, s)
	}
	if o := out.Accepted; o != nil && len(o.Days) > 0 {
		last := o.Days[len(o.Days)-1]
		fmt.Fprintf(env.Out, "The accepted course, as it stands, gives a chance of clear of %s on day %g.\n", percent(last.Clear.Value), last.Day)
	}
	return printAnswer(env, b.Condition, &out.Answer, true)
}

// accepted works out what is left of the course the lot is on.
func (c Course) accepted(env *Env, v *desk.LotView, b *desk.CourseBase, m desk.CourseMoney, out *storedAnswer) error {
	if v.Lot.Course == nil {
		return nil
	}
	p, ok := v.Lot.Course.Payload.(*holdfast.CourseAccepted)
	if !ok || p.Condition != b.Condition.ID || p.Release < b.From {
		return nil
	}
	view, err := b.Evaluate(env.Context, nil, b.Remaining(*p), m, cmp.Or(c.Runs, 1000))
	var wrong holdfast.Problems
	if errors.As(err, &wrong) {
		return nil // it can no longer be followed; the deviations say why
	}
	if err == nil {
		out.Accepted = &view.Outlook
	}
	return err
}
