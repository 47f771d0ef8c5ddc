/* `halfsplit work`: the workshop's sums without a job, one line in, one line out. */
#include <stdio.h>
#include <string.h>

#include "reading/work.h"
#include "talk/out.h"
#include "talk/talk.h"

static int one_line(struct talk_out *out, const char *line)
{
	struct text result = {0};
	struct hs_err err = {0};
	int status = TALK_DONE;

	if (rd_work(line, &result, &err) == 0) {
		text_addc(&result, '\n');
		out_lines(out, text_str(&result));
	} else {
		fflush(stdout);
		status = talk_complain(&err);
	}
	text_free(&result);
	return status;
}

static void say_sums(struct talk_out *out)
{
	const char *name, *takes, *meaning;

	for (int i = 0; rd_work_usage(i, &name, &takes, &meaning); i++) {
		struct text line = {0};
		text_addf(&line, "%-14s %s\n", name, takes);
		out_lines(out, text_str(&line));
		out_say(out, 4, 4, "%s", meaning);
		text_free(&line);
	}
}

/* Lines of standard input; one that is not understood does not stop the others. */
static int all_lines(struct talk_out *out)
{
	char line[4096];
	int status = TALK_DONE;

	while (fgets(line, sizeof line, stdin)) {
		line[strcspn(line, "\r\n")] = '\0';
		if (line[strspn(line, " \t")] && line[0] != '#') {
			int one = one_line(out, line);
			status = status == TALK_DONE ? one : status;
		}
	}
	return status;
}

int talk_work(char **words, int n)
{
	struct talk_out out;
	struct text line = {0};
	int status = TALK_DONE;

	out_start(&out, stdout);
	for (int i = 0; i < n; i++)
		text_addf(&line, "%s%s", i ? " " : "", words[i]);
	if (n == 1 && strcmp(words[0], "list") == 0)
		say_sums(&out);
	else
		status = n ? one_line(&out, text_str(&line)) : all_lines(&out);
	text_free(&line);
	return status;
}
