#include "papers/card_impl.h"

static void note_missing(const struct card *card)
{
  const struct facility_card *c = &card->station->card;
  const struct {
    bool missing;
    const char *what;
  } rows[] = {
      {!c->chemistry, "what it is for"},
      {c->not_here_count == 0, "what may not be used here"},
      {!papers_mark_given(&c->mark), "glass mark"},
      {papers_mark_given(&c->mark) && papers_mark_missing(card->request, &c->mark),
       "all of its glass mark"},
      {!card->station->has_openings, "sash mark"},
      {!c->wear.what, "what to wear"},
      {c->document_count == 0, "documents"},
      {!c->call && !card->request->facility->call, "whom to call"},
  };
  struct buf list;

  buf_init(&list, 400);
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
    if (rows[i].missing)
      buf_printf(&list, "%s%s", list.used ? ", " : "", rows[i].what);
  if (list.used)
    papers_note(card->request, card->index, false, "not stated: %s", list.text);
  buf_release(&list);
}

static void note_faults(const struct card *card)
{
  const struct facility *f = card->request->facility;
  int same = papers_marks_find(f, card->index, PAPERS_SAME, 0),
      uncertain = papers_marks_find(f, card->index, PAPERS_UNCERTAIN, 0);

  if (same >= 0)
    papers_note(card->request, card->index, true, "its glass mark is that of %s too",
                f->stations[same].part.id);
  if (uncertain >= 0)
    papers_note(card->request, card->index, true, "its glass mark cannot be told from that of %s",
                f->stations[uncertain].part.id);
}

int card_blocks(const struct card *card, struct card_block **blocks_out)
{
  enum { OTHERS = 9 }; /* besides one for each thing forbidden and each document */
  const struct facility_card *c = &card->station->card;
  struct card_block *blocks = ARENA_ARRAY(card->request->report->arena, struct card_block,
                                          (size_t)(c->not_here_count + c->document_count + OTHERS));
  int count = 0;

  BUG_IF(!blocks);
  note_missing(card);
  note_faults(card);
  blocks[count++] = (struct card_block){card_title, 0, false};
  if (!card->station->in_service)
    blocks[count++] = (struct card_block){card_out_of_service, 0, false};
  blocks[count++] = (struct card_block){card_not_here_head, 0, false};
  if (c->not_here_count == 0)
    blocks[count++] = (struct card_block){card_not_here_missing, 0, true};
  for (int i = 0; i < c->not_here_count; i++)
    blocks[count++] = (struct card_block){card_not_here_item, i, true};
  blocks[count++] = (struct card_block){card_glass_and_sash, 0, false};
  blocks[count++] = (struct card_block){card_alarm, 0, false};
  blocks[count++] = (struct card_block){card_wear, 0, false};
  if (c->document_count == 0)
    blocks[count++] = (struct card_block){card_documents_missing, 0, false};
  for (int i = 0; i < c->document_count; i++)
    blocks[count++] = (struct card_block){card_document, i, i > 0};
  blocks[count++] = (struct card_block){card_call, 0, false};
  *blocks_out = blocks;
  return count;
}
