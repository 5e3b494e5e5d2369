package cli

import "github.com/alecthomas/kong"

// Surface is what the command line offers: for each command its arguments and options, without --help.
func Surface() (map[string][2][]string, error) {
	var c commands
	parser, err := kong.New(&c, kong.Name("coldwright"), kong.Vars(helpNames()))
	if err != nil {
		return nil, err
	}
	all := map[string][2][]string{}
	for _, n := range parser.Model.Children {
		var args, flags []string
		for _, a := range n.Positional {
			args = append(args, a.Name)
		}
		for _, group := range n.AllFlags(false) {
			for _, f := range group {
				if f.Name != "help" {
					flags = append(flags, "--"+f.Name)
				}
			}
		}
		all[n.Name] = [2][]string{args, flags}
	}
	return all, nil
}
