# English. Plain, short, present tense; what to do, no blame. A value in braces comes from the app.

## Everywhere
app-broken = The app is broken
close = close
fit = Fit
hold = Hold
main = Main
device-revoked = This device is revoked: what is written on it counts no more. Ask the owner for a code to enrol it anew
name = name
nothing-here = Nothing is here
nothing-known = Nothing is known yet: open the app once with signal.
opening = The yard is being opened. The first time, all that a walk-round needs without signal is fetched once; from then on it is on this device.
part-not-here = This part is not here yet
part-not-here-do = It is fetched once with signal and kept from then on.
password = password
sign-in = Sign in
rider-carries-nothing = Riders carry no record. Say what you noticed by the code on the machine, or tell an instructor.
sign-in-first = Sign in first: whoever writes must be known.
take-over = take it
this-browser = this browser
to-the-yard = to the yard
try-again = Try again
unseen = Unseen
watch = Watch
yard = Yard

## With the server
asking = Asking the server …
as-of = the rest as of { $at }
clock-wrong = This device's clock is { $minutes } min wrong; the server's is used
never-heard = never synced
new-version = A new version is here
no-answer = The server does not answer: check the signal, then try again
no-disk = This browser keeps nothing: leave its private mode
no-signal = No signal
not-kept = Not kept on this device, so not done: { $why }
not-sent = { $count ->
    [one] 1 record not sent
   *[other] { $count } records not sent
}
other-catalogue = The server judges by another catalogue: reload when there is signal
other-tab = Open in another tab: this one looks, that one writes
other-tab-writes = Muster is open in another tab: write there, or close it
photo-refused = A photo could not be kept by the server and is left out: { $why }
refused = The server did not take a record: { $why }
signed-out = Signed out: sign in to send
storage-gave-up = no room was left
storage-lost = { $count ->
    [0] This browser threw away what it held; all of it had been sent
    [one] This browser threw away what it held, with 1 record that was not sent: write it again
   *[other] This browser threw away what it held, with { $count } records that were not sent: write them again
}
storage-mended = This browser threw away what it held. What was not sent is kept again.
storage-full = Not everything can be kept here: { $why }

## The yard
no-such-here = Not in this yard.
yard-today = Yard today
