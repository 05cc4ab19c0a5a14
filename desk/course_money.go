package desk

import (
	"context"
	"encoding/json"
	"math"

	"holdfast"
	"holdfast/money"
	"holdfast/science/clearance"
)

// CourseMoney is what planning reckons with: what things cost and bring, in
// minor units of the shop's currency, and how a search looks.
type CourseMoney struct {
	Costs  clearance.Costs  `json:"costs"`
	Prices clearance.Prices `json:"prices"`
	// LookAnimals is how many animals each planned look takes, Horizon how many
	// days ahead a release is considered.
	LookAnimals int     `json:"look_animals"`
	Horizon     float64 `json:"horizon"`
	// Own says that somebody wrote them; until then they are guesses.
	Own bool `json:"own"`
}

const moneyTopic, moneyKey = "course", "money"

// Money returns what planning reckons with for a lot: what the shop wrote, or
// guesses scaled to what one of its animals cost. Basis of the guesses: none but
// judgement; the page says so and asks for the shop's own.
func (d *Desk) Money(ctx context.Context, v *LotView) (CourseMoney, error) {
	raw, err := d.Store.Recall(ctx, moneyTopic, moneyKey)
	if err != nil {
		return CourseMoney{}, err
	}
	var m CourseMoney
	if raw != nil && json.Unmarshal(raw, &m) == nil && m.Own {
		return m, nil
	}
	return guessedMoney(v), nil
}

// KeepMoney keeps what planning reckons with, for all lots.
func (d *Desk) KeepMoney(ctx context.Context, m CourseMoney) error {
	m.Own = true
	b, err := json.Marshal(m)
	if err != nil {
		return err
	}
	return d.Store.Remember(ctx, moneyTopic, moneyKey, b)
}

func guessedMoney(v *LotView) CourseMoney {
	animal := 3 * float64(money.Units(v.Shop.Currency))
	if p := v.Lot.Price; p != nil && p.Minor > 0 && p.Currency == v.Shop.Currency {
		animal = float64(p.Minor)
	}
	return CourseMoney{LookAnimals: min(v.Shop.LookSize, max(1, v.Lot.Alive.N)), Horizon: 120,
		Costs: clearance.Costs{TankDay: animal / 2, Pull: animal / 2, Dose: 4 * animal, Look: animal / 10, Animal: animal, Loss: 200 * animal},
		Prices: clearance.Prices{Sale: 2 * animal, Disclosed: animal / 2, Claim: animal / 2 * float64(max(v.Lot.Alive.N, 0)),
			KeepDay: animal / 2, KeepDays: 180, PutDown: 0}}
}

// Exits tells each way out in the shop's currency.
func Exits(ways []clearance.WayOut, currency string) []ExitFigures {
	var out []ExitFigures
	for _, w := range ways {
		out = append(out, ExitFigures{w, holdfast.Money{Minor: int64(math.Round(math.Abs(w.Money))), Currency: currency}, w.Money < 0})
	}
	return out
}

// ExitFigures is a way out with its money as an amount; Loses says that it costs
// more than it brings.
type ExitFigures struct {
	clearance.WayOut
	Amount holdfast.Money
	Loses  bool
}
