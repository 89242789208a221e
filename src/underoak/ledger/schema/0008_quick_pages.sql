-- What the pages ask for first, in the order in which they show it: the shelf, its sums, a spot's looks and
-- finds, and who ate of what.
CREATE INDEX jar_first_to_use ON jar (state, use_by, made_on, code);
CREATE INDEX jar_by_content ON jar (state, batch_id, use_by, net_g);
CREATE INDEX batch_by_day ON batch (made_on);
CREATE INDEX serving_by_batch ON serving (batch_id);
CREATE INDEX serving_by_jar ON serving (jar_id);
CREATE INDEX search_by_spot ON search (spot_id, visit_id);
CREATE INDEX find_at_spot ON find (spot_id, visit_id);
DROP INDEX find_by_spot;
