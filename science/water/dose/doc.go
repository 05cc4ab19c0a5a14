// Package dose turns "2.5 mg in each litre" into what a person holds: grams on
// a scale, millilitres in a syringe, tablets; says how far the rounding moves
// it, what is in the water on each day after, and what must not be done.
//
// Start with Order.Mix for one dose, Course.Follow for the days after, PlanDip
// for a salt dip, Check for the rules, Trial.Gate for the few animals that go
// first. The strength of the product comes before everything: a 5 % powder
// needs twenty times the weight.
//
// The ingredients are generic; figures come with their source and are an aid
// to judgement. The label, the law of the place and a licensed aquatic
// veterinarian decide.
package dose
