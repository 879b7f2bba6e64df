// adds the word that copies to every field of addresses; without script the field can still be selected

for (const label of document.querySelectorAll<HTMLLabelElement>('label.copy')) {
  const input = label.querySelector('input');
  if (input === null) continue;
  const button = document.createElement('button');
  button.type = 'button';
  button.className = 'word';
  button.textContent = 'copy';
  button.addEventListener('click', async () => {
    input.select();
    try {
      await navigator.clipboard.writeText(input.value);
      button.textContent = 'copied';
    } catch {
      // on plain http the clipboard is closed to pages: the text stays selected for the keyboard
      button.textContent = 'selected, press Ctrl C';
    }
  });
  input.after(button);
}

export {};
