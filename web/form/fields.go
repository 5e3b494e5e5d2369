package form

// Field is one input with its label, unit and what is wrong with it.
type Field struct {
	ID, Name, Label, Hint, Unit, Value, Bad string
	Number, Signed, Below, Focus            bool
	Was                                     *string // what the page came with, where another tab may change it meanwhile
}

type Option struct{ Value, Label string }

// Choice is a question with two to four answers, or a longer list.
type Choice struct {
	ID, Name, Label, Hint, Value, Bad string
	Options                           []Option
	Was                               *string
}

// Item is one row of a form: exactly one of them is set.
type Item struct {
	Field  *Field
	Picks  *Choice
	Select *Choice
	Area   *Field
}

type Group struct {
	Title string
	Items []Item
}

func TextField(name, label, hint, value string) Field {
	return Field{ID: "f-" + name, Name: name, Label: label, Hint: hint, Value: value}
}

func NumberField(name, label, hint, unit, value string) Field {
	return Field{ID: "f-" + name, Name: name, Label: label, Hint: hint, Unit: unit, Value: value, Number: true}
}
