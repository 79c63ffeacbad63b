# Paper: printing, codes, numbered tags.
paper = Paper
paper-needs-server = Paper needs the server: try again with signal.
paper-not-printed = Not printed: { $why }
paper-printed = Printed: the file is among your downloads.
prints-nothing = This server was built without typesetting, so nothing is printed here. One that was built with it prints at this place.

## What is printed
numbered-tags = Numbered hold tags
numbered-tags-how = Printed before they are needed. Scanned when hung, a number is bound to its machine.
number-count = how many
number-from = first number
paper-of-yard = The yard's papers
print-dossier = Print dossier
print-form = Print blank form
print-morning = Print the morning's papers
print-slip = Print release slip
print-sticker = Print sticker
print-stickers = Print stickers
print-tag = Print hold tag
print-tags = Print tags
print-walk-round = Print walk-round
print-yard-sheet = Print yard sheet

## What a code says
by-code = You came by the code of a paper.
by-code-see = What is known of it
code-other = This is not the record that the paper's code names.
code-other-do = The hash behind the address is another one. Do not rely on the paper: print it anew.
code-same = The paper's code names this record.
code-same-do = Compare what the paper says with what stands here: a code can be copied onto another paper.
code-unknown = No paper is known here that rests on this.
files-other = The yard's files (machines, sheets, house rules) have changed since.
files-same = The yard's files are as they were then.
paper-by = printed by { $who }, { $at }
paper-of-code = The paper of this code
paper-of-code-how = Find yours among these, then compare it with the record.
paper-rests-on = What it rests on
proves-not = What this does not prove
rec-paper = Printed: { $document }
since-then = Since then

## Whether a file is ours
choose-file = Choose a file
file-genuine = Genuine: exactly this file was printed from this record.
file-not-known = Not known: this record printed no such file. It was changed, printed elsewhere, or as a draft.
file-not-read = The file cannot be read.
is-it-ours = Is a file ours?
is-it-ours-how = Only its hash is sent.

## The school's mark
choose-mark = Choose the mark's file
mark = The school's mark
mark-how = It stands at the head of forms, walk-rounds, slips, dossiers and the yard sheet: an SVG, PNG or JPEG of at most 256 KiB.
mark-none = Papers are printed without a mark.
mark-off = Print without it
mark-set = Papers are printed with the school's mark.

## A tag by its number
tag-choose = choose
tag-free-how = Hang it on the bar, then say here which machine and why.
tag-hangs-on = Hold tag { $number } hangs on { $machine }.
tag-is-free = Hold tag { $number } hangs nowhere.
tag-of-number = Hold tag { $number }
tag-say-machine = Say which machine it hangs on.
tag-was-used = It was used on { $machine } and lifted: it may be hung again.
tag-which-machine = machine
to-the-machine-of = To { $machine }
