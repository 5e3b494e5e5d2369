// Package text turns codes into the words people read: faults, places, findings, probabilities, headlines, the steps
// of a visit and the cautions at them. Codes and arguments come from the packages below; here is the only place where
// sentences stand.
//
// Words are those of the trade; the customer's words never use superheat, saturation or subcooling. Sentences are
// short, the finding first, what to do last. Numbers carry their unit as the display of the person asks, with a true
// minus sign. Each language is one file in words, read when it first speaks; what only the pages say is still English.
//
// It decides nothing and computes nothing but roundings for print. Cautions are reminders at the step: local codes,
// the maker's instructions and licensed practice win over them.
//
// References: probability words and their limits are house rules. Cautions: safety data as gathered from published
// guides and regulations, with what is common practice marked there; no text of a standard is repeated.
package text
