-- Which events are whose, and nothing else: what is written with each event is what an append costs.
CREATE TABLE of_subject (
  subject TEXT NOT NULL,
  arrival INTEGER NOT NULL,
  PRIMARY KEY (subject, arrival)
) STRICT, WITHOUT ROWID;
INSERT INTO of_subject SELECT subject, arrival FROM placed WHERE subject IS NOT NULL ORDER BY subject, arrival;
DROP TABLE placed;
ALTER TABLE of_subject RENAME TO placed;
