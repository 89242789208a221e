-- A random mark for each season of visits (1 March to the end of February), a new one with every change to it:
-- the same mark means the same rows, whoever wrote, so that seasons that are over need not be read again.
CREATE TABLE season_mark (
  season INTEGER PRIMARY KEY,         -- the year of its March
  mark TEXT NOT NULL
) STRICT;

INSERT INTO season_mark (season, mark)
SELECT season, lower(hex(randomblob(16))) FROM (
  SELECT DISTINCT CAST(substr(day, 1, 4) AS INTEGER) - CASE WHEN substr(day, 6, 2) < '03' THEN 1 ELSE 0 END AS season
  FROM visit) AS known;

CREATE TRIGGER visit_inserted_marks_season AFTER INSERT ON visit
BEGIN
  INSERT INTO season_mark (season, mark)
  VALUES (CAST(substr(NEW.day, 1, 4) AS INTEGER) - CASE WHEN substr(NEW.day, 6, 2) < '03' THEN 1 ELSE 0 END, lower(hex(randomblob(16))))
  ON CONFLICT (season) DO UPDATE SET mark = excluded.mark;
END;

CREATE TRIGGER visit_updated_marks_season AFTER UPDATE ON visit
BEGIN
  INSERT INTO season_mark (season, mark)
  VALUES (CAST(substr(OLD.day, 1, 4) AS INTEGER) - CASE WHEN substr(OLD.day, 6, 2) < '03' THEN 1 ELSE 0 END, lower(hex(randomblob(16))))
  ON CONFLICT (season) DO UPDATE SET mark = excluded.mark;
  INSERT INTO season_mark (season, mark)
  VALUES (CAST(substr(NEW.day, 1, 4) AS INTEGER) - CASE WHEN substr(NEW.day, 6, 2) < '03' THEN 1 ELSE 0 END, lower(hex(randomblob(16))))
  ON CONFLICT (season) DO UPDATE SET mark = excluded.mark;
END;

CREATE TRIGGER visit_deleted_marks_season AFTER DELETE ON visit
BEGIN
  INSERT INTO season_mark (season, mark)
  VALUES (CAST(substr(OLD.day, 1, 4) AS INTEGER) - CASE WHEN substr(OLD.day, 6, 2) < '03' THEN 1 ELSE 0 END, lower(hex(randomblob(16))))
  ON CONFLICT (season) DO UPDATE SET mark = excluded.mark;
END;

CREATE TRIGGER search_inserted_marks_season AFTER INSERT ON search
BEGIN
  INSERT INTO season_mark (season, mark)
  SELECT CAST(substr(day, 1, 4) AS INTEGER) - CASE WHEN substr(day, 6, 2) < '03' THEN 1 ELSE 0 END, lower(hex(randomblob(16)))
  FROM visit WHERE id = NEW.visit_id ON CONFLICT (season) DO UPDATE SET mark = excluded.mark;
END;

CREATE TRIGGER search_updated_marks_season AFTER UPDATE ON search
BEGIN
  INSERT INTO season_mark (season, mark)
  SELECT CAST(substr(day, 1, 4) AS INTEGER) - CASE WHEN substr(day, 6, 2) < '03' THEN 1 ELSE 0 END, lower(hex(randomblob(16)))
  FROM visit WHERE id = OLD.visit_id ON CONFLICT (season) DO UPDATE SET mark = excluded.mark;
  INSERT INTO season_mark (season, mark)
  SELECT CAST(substr(day, 1, 4) AS INTEGER) - CASE WHEN substr(day, 6, 2) < '03' THEN 1 ELSE 0 END, lower(hex(randomblob(16)))
  FROM visit WHERE id = NEW.visit_id ON CONFLICT (season) DO UPDATE SET mark = excluded.mark;
END;

CREATE TRIGGER search_deleted_marks_season AFTER DELETE ON search
BEGIN
  INSERT INTO season_mark (season, mark)
  SELECT CAST(substr(day, 1, 4) AS INTEGER) - CASE WHEN substr(day, 6, 2) < '03' THEN 1 ELSE 0 END, lower(hex(randomblob(16)))
  FROM visit WHERE id = OLD.visit_id ON CONFLICT (season) DO UPDATE SET mark = excluded.mark;
END;

CREATE TRIGGER find_inserted_marks_season AFTER INSERT ON find
BEGIN
  INSERT INTO season_mark (season, mark)
  SELECT CAST(substr(day, 1, 4) AS INTEGER) - CASE WHEN substr(day, 6, 2) < '03' THEN 1 ELSE 0 END, lower(hex(randomblob(16)))
  FROM visit WHERE id = NEW.visit_id ON CONFLICT (season) DO UPDATE SET mark = excluded.mark;
END;

CREATE TRIGGER find_updated_marks_season AFTER UPDATE ON find
BEGIN
  INSERT INTO season_mark (season, mark)
  SELECT CAST(substr(day, 1, 4) AS INTEGER) - CASE WHEN substr(day, 6, 2) < '03' THEN 1 ELSE 0 END, lower(hex(randomblob(16)))
  FROM visit WHERE id = OLD.visit_id ON CONFLICT (season) DO UPDATE SET mark = excluded.mark;
  INSERT INTO season_mark (season, mark)
  SELECT CAST(substr(day, 1, 4) AS INTEGER) - CASE WHEN substr(day, 6, 2) < '03' THEN 1 ELSE 0 END, lower(hex(randomblob(16)))
  FROM visit WHERE id = NEW.visit_id ON CONFLICT (season) DO UPDATE SET mark = excluded.mark;
END;

CREATE TRIGGER find_deleted_marks_season AFTER DELETE ON find
BEGIN
  INSERT INTO season_mark (season, mark)
  SELECT CAST(substr(day, 1, 4) AS INTEGER) - CASE WHEN substr(day, 6, 2) < '03' THEN 1 ELSE 0 END, lower(hex(randomblob(16)))
  FROM visit WHERE id = OLD.visit_id ON CONFLICT (season) DO UPDATE SET mark = excluded.mark;
END;
