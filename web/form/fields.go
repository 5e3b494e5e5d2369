package form

// Field is one input with its label, unit and what is wrong with it.
type Field struct {
	ID, Name, Label, Hint, Unit, Value, Bad string
	Number, Signed, Focus                   bool
	AsksSign                                bool    // below zero is as usual as above: a bare number is asked about
	Sign                                    string  // plus or minus as chosen; nobody is given one
	Zone                                    bool    // a time zone: the device's where nothing stands yet, of a list
	Sure                                    string  // a value that was asked about, for "it is so"
	Was                                     *string // what the page came with, where another tab may change it meanwhile
}

// Option is one answer to a choice.
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

// Group is some rows of a form under a heading.
type Group struct {
	Title string
	Items []Item
}

// TextField asks for words.
func TextField(name, label, hint, value string) Field {
	return Field{ID: "f-" + name, Name: name, Label: label, Hint: hint, Value: value}
}

// NumberField asks for a number in a unit; the keyboard of a phone shows digits for it.
func NumberField(name, label, hint, unit, value string) Field {
	return Field{ID: "f-" + name, Name: name, Label: label, Hint: hint, Unit: unit, Value: value, Number: true}
}
