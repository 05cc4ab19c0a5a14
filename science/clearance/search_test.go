package clearance

import (
	"context"
	"testing"
	"time"
)

func question() Question {
	return Question{Case: plan(0, 0, 0, 0), Costs: Costs{TankDay: 100, Pull: 20, Dose: 500, Look: 10, Animal: 250, Loss: 30000},
		Prices: &Prices{Sale: 300, Disclosed: 100, Claim: 20000, KeepDay: 50, KeepDays: 180, PutDown: 5}}
}

func TestSearchTry(t *testing.T) {
	q := question()
	pi := .5
	q.Case.Infested = &pi
	q.Case.Pulls = nil
	t0 := time.Now()
	ans, err := Search(context.Background(), q, func(p Progress) bool { return true })
	if err != nil {
		t.Fatal(err)
	}
	t.Log(time.Since(t0), ans.Reached, ans.Edges, ans.PullDays, len(ans.Courses))
	show := func(o *Outlook) {
		t.Logf("%s doses %d gap %g pulls %d starts %v ends %g", o.Course.Name, o.Course.Doses, o.Course.Gap, o.Course.PullsPerDay, o.Starts, o.Ends)
		if o.Earliest != nil {
			t.Logf("   earliest %+v", *o.Earliest)
		}
		if o.Best != nil {
			t.Logf("   best %+v", *o.Best)
		}
		if o.Cheapest != nil {
			t.Logf("   cheapest %+v", *o.Cheapest)
		}
	}
	for i := range ans.Courses[:8] {
		show(&ans.Courses[i])
	}
	for i := range ans.Practice {
		show(&ans.Practice[i])
	}
	t.Log("earliest")
	show(ans.Earliest)
	t.Log("cheapest")
	show(ans.Cheapest)
	for i := range ans.Finalists {
		show(&ans.Finalists[i].Mixed)
		show(&ans.Finalists[i].Never)
		show(&ans.Finalists[i].Always)
	}
	for _, w := range ans.WaysOut {
		t.Logf("%+v", w)
	}
}
