package cli

// Water groups the calculations on a tank's or a bag's water.
type Water struct {
	Ammonia WaterAmmonia `cmd:"" help:"How much of a total ammonia is the poisonous, un-ionized form."`
	Oxygen  WaterOxygen  `cmd:"" help:"How much oxygen water holds when air stands over it."`
	Density WaterDensity `cmd:"" help:"How heavy water with dissolved sea salt is."`
}
