# The desk: yard, machine, jobs, records.
