// Package verdict forms the one judgement that pages, printed reports, the terminal, JSON and lists show: what is
// wrong and how surely, which instruments are proven wrong, whether it fits, what to do next, what is proven stage by
// stage, and whether the machine is healthy. A result is codes with typed arguments; whoever shows it makes the words
// and decides nothing. Limits come from package threshold, and only from there.
package verdict
