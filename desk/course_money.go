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

// Money returns what planning reckons with for a lot: what the shop wrote in the
// currency it works in, or guesses scaled to what one of its animals cost. Basis of
// the guesses: none but judgement; the page says so and asks for the shop's own.
func Money(v *LotView) CourseMoney {
	p := v.Shop.Costs
	if p == nil || p.Currency != v.Shop.Currency {
		return guessedMoney(v)
	}
	return CourseMoney{Own: true, Horizon: p.Horizon, LookAnimals: p.LookAnimals,
		Costs: clearance.Costs{TankDay: float64(p.TankDay), Pull: float64(p.Pull), Dose: float64(p.Dose), Look: float64(p.Look), Animal: float64(p.Animal), Loss: float64(p.Loss)},
		Prices: clearance.Prices{Sale: float64(p.Sale), Disclosed: float64(p.Disclosed), Claim: float64(p.Claim),
			KeepDay: float64(p.KeepDay), KeepDays: p.KeepDays, PutDown: float64(p.PutDown)}}
}

// SetCosts states what things cost the shop and bring from now on, for all lots.
func (d *Desk) SetCosts(ctx context.Context, by Actor, m CourseMoney) (holdfast.ID, error) {
	shop, err := d.Settings(ctx)
	if err != nil {
		return "", err
	}
	minor := func(x float64) int64 { return int64(math.Round(x)) }
	return d.writeFirst(ctx, by, note{payload: &holdfast.CostsSet{Currency: shop.Currency, Horizon: m.Horizon, LookAnimals: m.LookAnimals,
		TankDay: minor(m.Costs.TankDay), Pull: minor(m.Costs.Pull), Dose: minor(m.Costs.Dose), Look: minor(m.Costs.Look), Animal: minor(m.Costs.Animal), Loss: minor(m.Costs.Loss),
		Sale: minor(m.Prices.Sale), Disclosed: minor(m.Prices.Disclosed), Claim: minor(m.Prices.Claim),
		KeepDay: minor(m.Prices.KeepDay), KeepDays: m.Prices.KeepDays, PutDown: minor(m.Prices.PutDown)}})
}

// Costs that were written before they were entries stood under this topic and key.
const moneyTopic, moneyKey = "course", "money"

// CarryCosts makes an entry of the costs that a folder kept beside its journal, once:
// what is carried over is forgotten there.
func (d *Desk) CarryCosts(ctx context.Context) error {
	raw, err := d.Store.Recall(ctx, moneyTopic, moneyKey)
	if err != nil {
		return err
	}
	var m CourseMoney
	if raw == nil || json.Unmarshal(raw, &m) != nil || !m.Own {
		return nil
	}
	shop, err := d.Settings(ctx)
	if err != nil {
		return err
	}
	if shop.Costs == nil {
		if _, err := d.SetCosts(ctx, Actor{Who: "Holdfast"}, m); err != nil {
			return err
		}
	}
	return d.Store.Remember(ctx, moneyTopic, moneyKey, json.RawMessage(`{}`))
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
