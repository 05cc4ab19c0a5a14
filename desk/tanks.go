package desk

import (
	"context"
	"fmt"

	"holdfast"
	"holdfast/science/ref"
	"holdfast/science/water"
)

// TankForm is what a person enters about a tank.
type TankForm struct {
	ID     string
	Name   string
	System string
	Place  int
	Use    string
	Closed bool
	holdfast.Shape
	// Salt or Timed, if set, is how counted litres were found; the shape's own
	// follow from it.
	Salt  *holdfast.SaltFill
	Timed *holdfast.TimedFill
}

// counted fills in the litres that follow from salt or from the clock.
func (f *TankForm) counted() error {
	var v water.Volume
	var err error
	switch {
	case f.Salt != nil:
		v, err = water.SaltFill(*f.Salt).Volume()
	case f.Timed != nil:
		v, err = water.TimedFill(*f.Timed).Volume()
	default:
		return nil
	}
	if err != nil {
		return holdfast.Problems{ProblemOf(err)}
	}
	f.Form, f.KnownFillL, f.KnownFillError, f.KnownFillBare = string(water.KnownFill), v.Litres, min(v.Share(), 0.5), false
	return nil
}

// SetTank adds a tank or changes it. The litres follow from the shape and are
// frozen in the entry.
func (d *Desk) SetTank(ctx context.Context, by Actor, f TankForm) (water.Volume, error) {
	if err := f.counted(); err != nil {
		return water.Volume{}, err
	}
	t := tankOf(f.Shape)
	var problems holdfast.Problems
	for _, err := range t.Check() {
		problems = append(problems, ProblemOf(err))
	}
	if !holdfast.ValidName(f.ID) {
		problems = append(problems, holdfast.Problem{Field: "id", Message: fmt.Sprintf("%q cannot be a tank's short name", f.ID), Hint: "Use 1 to 40 letters, digits, dots or dashes, such as 14."})
	}
	if len(problems) > 0 {
		return water.Volume{}, problems
	}
	v, err := t.Volume()
	if err != nil {
		return v, holdfast.Problems{ProblemOf(err)}
	}
	if f.Name == "" {
		f.Name = f.ID
	}
	_, err = d.write(ctx, by, nil, note{tank: f.ID, payload: &holdfast.TankSet{Name: f.Name, System: f.System, Place: f.Place,
		Use: f.Use, Closed: f.Closed, Shape: f.Shape, Litres: v.Litres, Low: v.Low, High: v.High, Salt: f.Salt, Timed: f.Timed}})
	return v, err
}

// ProblemOf turns a science package's error into a problem at its field.
func ProblemOf(err error) holdfast.Problem {
	if in, ok := err.(*ref.InputError); ok {
		return holdfast.Problem{Field: in.Field, Message: in.Message, Hint: in.Hint}
	}
	return holdfast.Problem{Message: err.Error()}
}

// tankOf hands a stored shape to the package that knows what it means. The two
// types have the same fields; TestShapeIsWaterTank holds them together.
func tankOf(s holdfast.Shape) water.Tank {
	return water.Tank{
		Shape: water.Shape(s.Form), LengthCM: s.LengthCM, WidthCM: s.WidthCM, BowCM: s.BowCM, ReturnCM: s.ReturnCM,
		DiameterCM: s.DiameterCM, SideCM: s.SideCM, HeightCM: s.HeightCM, FillCM: s.FillCM, Outside: s.Outside,
		GlassMM: s.GlassMM, BaseGlassMM: s.BaseGlassMM, TapeErrorCM: s.TapeErrorCM,
		KnownFillL: s.KnownFillL, KnownFillError: s.KnownFillError, KnownFillBare: s.KnownFillBare,
		SubstrateCM: s.SubstrateCM, SubstrateL: s.SubstrateL, SubstratePorosity: s.SubstratePorosity,
		HardscapeL: s.HardscapeL, HardscapeMeasured: s.HardscapeMeasured, SumpL: s.SumpL,
	}
}

// Room is the tank room as it stands.
type Room struct {
	Systems []System
	// Free are tanks for quarantine with nobody in them.
	Free []holdfast.TankRow
}

// System is the tanks that share one water.
type System struct {
	ID    string
	Zone  Zone
	Tanks []Occupied
}

// Occupied is a tank with the lots that stand in it.
type Occupied struct {
	holdfast.TankRow
	Lots []holdfast.LotRow
}

// Room returns every tank in use, by system, in the order that carries no
// water from a worse system to a better one.
func (d *Desk) Room(ctx context.Context) (*Room, error) {
	tanks, err := d.Store.Tanks(ctx)
	if err != nil {
		return nil, err
	}
	lots, _, err := d.Store.Lots(ctx, LotQuery{Statuses: openStatuses, Sort: ByOldest})
	if err != nil {
		return nil, err
	}
	shop, err := d.Settings(ctx)
	if err != nil {
		return nil, err
	}
	in := map[string][]holdfast.LotRow{}
	for _, l := range lots {
		for _, p := range l.Places {
			in[p.Tank] = append(in[p.Tank], l)
		}
	}
	room := &Room{}
	at := map[string]int{}
	for _, t := range tanks {
		id := t.System
		if id == "" {
			id = t.ID
		}
		i, ok := at[id]
		if !ok {
			i = len(room.Systems)
			at[id] = i
			room.Systems = append(room.Systems, System{ID: id})
		}
		s := &room.Systems[i]
		s.Tanks = append(s.Tanks, Occupied{t, in[t.ID]})
		for _, l := range in[t.ID] {
			s.Zone = max(s.Zone, zoneOf(shop, l))
		}
		if len(in[t.ID]) == 0 && (t.Use == "quarantine" || t.Use == "hospital") {
			room.Free = append(room.Free, t)
		}
	}
	sortSystems(room.Systems)
	return room, nil
}

// openStatuses are the states of lots that still have animals in tanks.
var openStatuses = []holdfast.Status{holdfast.Held, holdfast.Released, holdfast.Recalled, holdfast.Disclosed, holdfast.Colony}

// VolumeOf returns the litres that follow from a shape, with the ledger behind
// them and what makes them uncertain. Errors are those of [water.Tank.Volume].
func VolumeOf(s holdfast.Shape) (water.Volume, error) { return tankOf(s).Volume() }
