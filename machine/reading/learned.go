package reading

import "coldwright/fail"

// Trait is a design value that machines of one house teach about each other.
type Trait int

// The traits, by their place in [Learned]. TD, split, liquid cooling and efficiency are known by their logarithm,
// superheat over TD by its logit.
const (
	TraitTD Trait = iota
	TraitSplit
	TraitSuperheat
	TraitLiquidCooling
	TraitEfficiency
	Traits
)

var traitWords = []string{"td", "split", "superheat_ratio", "liquid_cooling", "efficiency"}

func (t Trait) String() string { return traitWords[t] }

// TraitWords lists the traits.
func TraitWords() []string { return traitWords }

// ParseTrait reads the word of a trait.
func ParseTrait(s string) (Trait, error) {
	for i, w := range traitWords {
		if w == s {
			return Trait(i), nil
		}
	}
	return 0, fail.Of(fail.BadValue, "trait", "reading.no_answer", fail.Args{"text": s, "words": traitWords})
}

// Usual is where the middle of the machines lies for one trait, against what the program knew when it came, and how far
// they spread, as standard deviation. Spread 0: nobody taught it.
type Usual struct{ Shift, Spread float64 }

// Learned is what other machines of the same application and house taught: how many they are, how many of them stand at
// the site of the one in question, and what is usual with them.
type Learned struct {
	Machines, Here int
	Of             [Traits]Usual
}
